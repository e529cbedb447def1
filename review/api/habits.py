from drf_spectacular.utils import extend_schema
from rest_framework import serializers, viewsets
from rest_framework.response import Response

from review.crew import habits


class HabitsForm(serializers.Serializer):
    """`keys` maps what to do to the keys that do it; `catch_seconds` is how far back the catch key reaches."""

    keys = serializers.DictField(
        child=serializers.ListField(child=serializers.CharField(max_length=20)), required=False
    )
    catch_seconds = serializers.IntegerField(required=False)


class HabitsViewSet(viewsets.ViewSet):
    """How you like to work; it holds on every machine you sign in at."""

    @extend_schema(responses=HabitsForm)
    def list(self, request):
        return Response(habits.of(request.user))

    @extend_schema(request=HabitsForm, responses=HabitsForm)
    def create(self, request):
        """Keep what is given; the rest stays as it is."""
        form = HabitsForm(data=request.data)
        form.is_valid(raise_exception=True)
        given = form.validated_data
        return Response(habits.keep(request.user, given.get("keys"), given.get("catch_seconds")))
