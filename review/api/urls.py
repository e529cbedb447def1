from django.urls import path
from drf_spectacular.views import SpectacularAPIView
from rest_framework.routers import SimpleRouter

from review.api.cards import CardViewSet, JobViewSet
from review.api.clips import ClipViewSet
from review.api.coverage import CoverageViewSet
from review.api.cuts import CutViewSet
from review.api.days import DayViewSet
from review.api.forecast import ForecastViewSet
from review.api.habits import HabitsViewSet
from review.api.keeping import KeepingViewSet, SelectKeepingViewSet
from review.api.lists import ListViewSet
from review.api.news import NewsViewSet
from review.api.productions import ProductionViewSet
from review.api.searches import SearchViewSet
from review.api.second_looks import SecondLookViewSet
from review.api.selects import SelectViewSet
from review.api.splits import SplitViewSet
from review.api.stints import StintViewSet
from review.api.tags import TagViewSet

router = SimpleRouter()
for name, viewset in {
    "productions": ProductionViewSet,
    "cards": CardViewSet,
    "clips": ClipViewSet,
    "selects": SelectViewSet,
    "searches": SearchViewSet,
    "tags": TagViewSet,
    "stints": StintViewSet,
    "splits": SplitViewSet,
    "lists": ListViewSet,
    "coverage": CoverageViewSet,
    "second-looks": SecondLookViewSet,
    "forecast": ForecastViewSet,
    "jobs": JobViewSet,
    "habits": HabitsViewSet,
    "days": DayViewSet,
    "cuts": CutViewSet,
    "keeping": KeepingViewSet,
    "news": NewsViewSet,
}.items():
    router.register(name, viewset, basename=f"api-{name}")
router.register("selects", SelectKeepingViewSet, basename="api-select-keeping")

urlpatterns = [path("schema/", SpectacularAPIView.as_view(), name="api-schema"), *router.urls]
