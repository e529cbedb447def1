import math

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.shortcuts import redirect, render

from review import forecast, roles
from review.crew import access
from review.pages.current import current_production
from review.pages.errors import refusing
from review.record import pace
from review.seeing import forecasting
from review.seeing.forecasting import Answer, Question

SLOW = 0.1  # hours of new footage in an hour of work; people read slower than real time, but not ten times


@login_required
@refusing
def forecast_page(request):
    """When everything will have been seen, how that was worked out, and what if. A POST says what is still shot."""
    production = current_production(request)
    if request.method == "POST":
        given = request.POST
        forecasting.set_shooting(request.user, production, given.get("shoot_until", ""), given.get("shot_a_day", ""))
        messages.info(request, "The forecast now reckons with this.")
        return redirect("forecast")
    several = {name: ",".join(request.GET.getlist(name)) for name in ("skim", "without")}
    question = Question.read(request.GET.dict() | several)
    answer = forecasting.answer(production, question)
    kinds = sorted({*answer.all_left, *answer.coming.a_day, *_worked_kinds(answer)})
    return render(
        request,
        "review/forecast.html",
        {
            "answer": answer,
            "question": question,
            "told": answer.told,
            "footage": [_footage(answer, kind) for kind in kinds],
            "kinds": [(kind, _words(kind)) for kind in kinds],
            "skimmable": [(kind, _words(kind), kind in question.what_if.skim) for kind in kinds],
            "hands": _hands(answer, kinds),
            "days": answer.told and _rounded_up(answer.told.days),
            "piled": answer.told and _rounded_up(answer.told.piled),
            "colleagues": _colleagues(answer),
            "left": 3600 * sum(answer.all_left.values()),
            "first": 3600 * sum(answer.left.values()),
            "second": 3600 * sum(answer.second.values()),
            "slow": _slow(answer),
            "on_record": 3600 * answer.hours_on_record,
            "days_on_record": len({day.day for day in answer.days}),
            "window": pace.WINDOW_DAYS,
            "rules": forecast,
            "alone": 3600 * sum(answer.all_left.values()) / (3600 * forecast.HOURS_A_WEEK),
            "forty": forecast.people_for_weeks(sum(answer.all_left.values()), 1, 40),
            "may_set": access.may(request.user, production, roles.HAND_OUT),
        },
    )


def _rounded_up(days: float) -> float:
    """To a tenth, so that what is shown ends on the day that is told: 7.02 days end on the eighth."""
    return math.ceil(10 * days - 1e-6) / 10 if math.isfinite(days) else days


def _colleagues(answer: Answer) -> list[str]:
    """Whom one may ask to reckon without."""
    hands = answer.told.team.hands if answer.told and not answer.question.assumed else ()
    return sorted({hand.name for hand in hands} | answer.question.without)


def _worked_kinds(answer: Answer) -> set[str]:
    return set(answer.told.team.paces) if answer.told else set()


def _words(kind: str) -> str:
    return {pace.SOUND: "sound", pace.NO_CAMERA: "no camera letter"}.get(kind, f"camera {kind}")


def _footage(answer: Answer, kind: str) -> dict:
    """A row of what is left: footage in seconds, paces in seconds of it an hour, work in days of the team's."""
    told = answer.told
    skimmed = kind in answer.question.what_if.skim and not answer.question.assumed
    pace_here = told.team.paces.get(kind) if told else None
    if pace_here is not None and skimmed:
        pace_here *= told.team.skim
    return {
        "words": _words(kind),
        "left": 3600 * answer.left.get(kind, 0.0),
        "second": 3600 * answer.second.get(kind, 0.0),
        "coming": 3600 * answer.coming.a_day.get(kind, 0.0),
        "pace": None if pace_here is None else 3600 * pace_here,
        "skimmed": skimmed,
        "days": told.work.get(kind, 0.0) if told else None,
    }


def _slow(answer: Answer) -> dict | None:
    """The new footage of all the work on record, in seconds, where that is so little that it reads like a mistake."""
    fresh = sum(done.fresh for day in answer.days for done in day.done.values())
    if not answer.told or answer.question.assumed or fresh >= SLOW * answer.hours_on_record:
        return None
    return {"fresh": 3600 * fresh}


def _hands(answer: Answer, kinds: list[str]) -> list[dict]:
    """A row for each logger: hours of work in seconds, seconds of fresh footage an hour by kind; `own` tells whether
    that is theirs, or worked out from the team's."""
    if not answer.told or answer.question.assumed:
        return []
    team = answer.told.team
    return [
        {
            "name": hand.name,
            "on_record": 3600 * hand.on_record.hours,
            "a_day": 3600 * hand.hours,
            "a_worked_day": 3600 * hand.a_worked_day,
            "paces": [
                {
                    "fresh": 3600 * hand.pace(kind, team.paces),
                    "own": kind in hand.done and hand.done[kind].hours >= forecast.OWN_HOURS,
                }
                for kind in kinds
            ],
        }
        for hand in team.hands
    ]
