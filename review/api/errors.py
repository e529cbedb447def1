"""Every error as JSON: `detail` in words, and the fault under the field's name where a field is at fault."""

from rest_framework import exceptions, status
from rest_framework.response import Response
from rest_framework.views import exception_handler

from review.refusals import Conflict, NotAllowed, NotFound, Refusal

_STATUS = {
    NotAllowed: status.HTTP_403_FORBIDDEN,
    NotFound: status.HTTP_404_NOT_FOUND,
    Conflict: status.HTTP_409_CONFLICT,
}


def as_json(problem: Exception, context: dict) -> Response | None:
    if isinstance(problem, Refusal):
        body: dict = {"detail": problem.message}
        if problem.field:
            body[problem.field] = [problem.message]
        if isinstance(problem, Conflict):
            body["current"] = context["view"].show(problem.current)
        return Response(body, _STATUS.get(type(problem), status.HTTP_400_BAD_REQUEST))
    response = exception_handler(problem, context)
    if isinstance(problem, exceptions.ValidationError):
        fields = response.data if isinstance(response.data, dict) else {"non_field_errors": response.data}
        response.data = {"detail": _in_words(fields), **fields}
    return response


def _in_words(fields: dict) -> str:
    return " ".join(f"{name}: {_first(fault)}" for name, fault in fields.items())


def _first(fault) -> str:
    while isinstance(fault, dict | list) and fault:
        fault = next(iter(fault.values())) if isinstance(fault, dict) else next((each for each in fault if each), "")
    return str(fault)
