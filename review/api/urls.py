from django.urls import path
from drf_spectacular.views import SpectacularAPIView
from rest_framework.routers import SimpleRouter

from review.api.cards import CardViewSet, JobViewSet
from review.api.clips import ClipViewSet
from review.api.coverage import CoverageViewSet
from review.api.habits import HabitsViewSet
from review.api.lists import ListViewSet
from review.api.productions import ProductionViewSet, TagViewSet
from review.api.selects import SelectViewSet
from review.api.stints import StintViewSet

router = SimpleRouter()
for name, viewset in {
    "productions": ProductionViewSet,
    "cards": CardViewSet,
    "clips": ClipViewSet,
    "selects": SelectViewSet,
    "tags": TagViewSet,
    "stints": StintViewSet,
    "lists": ListViewSet,
    "coverage": CoverageViewSet,
    "jobs": JobViewSet,
    "habits": HabitsViewSet,
}.items():
    router.register(name, viewset, basename=f"api-{name}")

urlpatterns = [path("schema/", SpectacularAPIView.as_view(), name="api-schema"), *router.urls]
