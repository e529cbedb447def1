"""What machines ask of this one: is it alive, can it work, and its figures. None of them needs a sign-in."""

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.http import require_safe

from review.running import health, metrics


@require_safe
def alive(request: HttpRequest) -> JsonResponse:
    """This process answers; nothing else is asked."""
    return _unkept(JsonResponse({"alive": True}))


@require_safe
def ready(request: HttpRequest) -> JsonResponse:
    """200 when all that the work needs is there, 503 when anything is not; each says how it is."""
    answers = health.ready()
    good = all(answer.good for answer in answers)
    told = {answer.name: {"good": answer.good, "says": answer.says} for answer in answers}
    return _unkept(JsonResponse({"ready": good} | told, status=200 if good else 503))


@require_safe
def figures(request: HttpRequest) -> HttpResponse:
    if not metrics.may_read(request):
        words = "Set RUSHLIGHT_METRICS_TOKEN and send it as a bearer token, or ask from the machine itself.\n"
        return _unkept(HttpResponse(words, status=403, content_type="text/plain; charset=utf-8"))
    return _unkept(HttpResponse(metrics.text(), content_type=metrics.CONTENT_TYPE))


def _unkept(response):
    response["Cache-Control"] = "no-store"
    return response
