"""The days that the demo's people have behind them: written by the use cases, each thing at its time."""

from datetime import timedelta
from types import SimpleNamespace

import pytest
from django.utils import timezone

from review import forecast
from review.cards.reels import reel_for
from review.demo import scenario
from review.desk import keeping, usage
from review.management import demo_days, demo_rows
from review.models import Activity, Card, Clip, Person, Production, Select
from review.record import coverage, pace
from review.seeing import forecasting
from review.team import agreement, holding, second_looks
from review.team.changed import changed


@pytest.fixture
def demo(db, settings, tmp_path):
    """The demo's rows as the real pipeline leaves them, without its footage."""
    settings.HOME = tmp_path
    demo_rows.make_productions()
    for made in (each for each in scenario.CARDS if each.fault == ""):
        card = Card.objects.create(
            production=Production.objects.get(code=made.name[:4]),
            name=made.name,
            reel=reel_for(made.name, Card.objects.values_list("reel", flat=True)),
            folder=str(tmp_path / made.name),
            shoot_date=made.date,
            camera=made.name[-3],
            state=Card.State.VERIFIED,
        )
        for clip in made.clips:
            base = made.timebase
            Clip.objects.create(
                card=card,
                name=clip.name,
                files=[f"CLIP/{clip.name}.MOV"],
                file_frames=[made.frames(clip)],
                kind=Clip.Kind.SOUND if made.kind == "sound" else Clip.Kind.VIDEO,
                frames=made.frames(clip),
                start_frame=base.frame(clip.start),
                rate_numerator=base.rate.numerator,
                rate_denominator=base.rate.denominator,
                drop=base.drop,
                channels=made.channels,
                proxy_state=Clip.ProxyState.READY,
            )
    demo_days.make_logbook()
    return SimpleNamespace(
        kb04=Production.objects.get(code="KB04"),
        **{each.login: Person.objects.get(username=each.login) for each in scenario.PEOPLE},
    )


def test_there_is_enough_on_record_to_tell_a_date_with_a_range(demo):
    answer = forecasting.answer(demo.kb04, forecasting.Question())
    assert answer.hours_on_record >= forecast.LEAST_HOURS
    assert answer.told.early < answer.told.late and answer.told.early <= answer.told.likely <= answer.told.late
    paces = {hand.name: round(hand.on_record.pace, 4) for hand in answer.told.team.hands}
    assert set(paces) == {"bram", "ilse", "odd"} and len(set(paces.values())) == 3
    assert coverage.anything_unseen(demo.kb04)


def test_everything_was_done_before_now_and_is_written_down_in_its_order(demo):
    times = list(Activity.objects.filter(production=demo.kb04).exclude(person=None).order_by("id").values_list("at"))
    assert times == sorted(times) and times[-1][0] < timezone.now()
    assert {timezone.localtime(at).date() for (at,) in times} >= {
        timezone.localdate() - timedelta(days) for days in range(1, 7)
    }
    for select in Select.objects.all():
        slots = select.logger.worked_slots.filter(began__lte=select.created, began__gt=select.created - pace.SLOT)
        assert slots.exists(), "it was marked while its logger worked"


def test_two_people_looked_at_one_clip_and_agree_in_part_and_one_clip_waits_for_another(demo):
    waits, done = second_looks.wanted(demo.kb04)
    assert done.seen_frames == done.frames and waits.seen_frames == 0
    (told,) = agreement.on(done.clip)
    assert 0 < told.share < 1 and told.same >= 1 and told.differences
    assert agreement.on(waits.clip) == []


def test_a_split_was_handed_out_that_everybody_finds_and_one_stint_rests(demo):
    for person in (demo.ilse, demo.bram, demo.odd):
        told = changed(person, demo.kb04, holding.held(demo.kb04, person))
        assert told.came and not told.went
    demo_days.make_logbook()  # as a second start of the demo does: nothing is written twice
    resting = [each for each in holding.held(demo.kb04) if each.idle]
    assert [(each.stint.logger, each.stint.clip.name) for each in resting] == [(demo.odd, "A003C002")]


def test_a_select_is_worth_keeping_and_a_rough_cut_came_back(demo):
    (kept,) = keeping.of(demo.kb04)
    assert kept.rights and kept.people == "none"
    events = demo.kb04.cuts.get().events.all()
    assert [event.sure for event in events] == ["sure"] * 3
    assert usage.only_in_cut(Select.objects.all()).count() >= 3


def test_the_clock_goes_on_afterwards_even_when_something_fails():
    with pytest.raises(ZeroDivisionError), demo_days.clock_at(timezone.now() - timedelta(days=9)):
        raise ZeroDivisionError
    assert timezone.now() - timezone.localtime() < timedelta(seconds=5)
