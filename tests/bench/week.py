"""A simulated week: a production shoots, a team of loggers of different paces watches, and every morning the producer
splits what is new. It drives the real use cases on rows alone, with a clock of its own.
"""

import heapq
import random
import uuid
from collections.abc import Callable
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from unittest import mock

from django.db.models import F

from review import frames, roles
from review.cards.reels import reel_for
from review.crew import people
from review.forecast import Forecast
from review.marking import selecting
from review.models import Card, Clip, Person, Stint, Viewing, WatchedRange
from review.record import coverage, stints, watching
from review.refusals import Refusal
from review.seeing import forecasting
from review.team import handing_out, next_to_watch, planning, stretches
from review.timecode import Rate, Timebase

RATE = Rate(25)
CAMERAS = "ABCDEFGHJKLM"
TAGS = ("quay", "winch", "gull", "letter", "storm", "supper")
FIRST_DAY = date(2026, 11, 9)
BEGIN, STEP = 9, 300  # the hour at which people begin; seconds of footage at the most between two reports


@dataclass
class Logger:
    """`speed` is that of playing, `attention` the part of the time worked in which something plays."""

    person: Person
    hours: float
    speed: float
    attention: float
    skims: float  # how often this one goes through a clip at four times the speed
    ill_from: datetime | None = None
    viewing: uuid.UUID | None = None
    clip: Clip | None = None
    batch: int = 0
    watched: Fraction = Fraction(0)  # seconds of footage, by this simulation's own count
    worked: float = 0.0  # hours


@dataclass
class Report:
    """What came of it. Times of footage are seconds."""

    shot: Fraction = Fraction(0)
    done_at: datetime | None = None
    splits: int = 0
    stints: int = 0
    selects: int = 0
    batches: int = 0
    shares: list[float] = field(default_factory=list)  # the longest share to the mean of each split, by hours


class Week:
    """`hours` of footage in `clips` clips over `days` days, for `loggers` people. The same `seed`, the same week."""

    def __init__(self, *, hours: float, clips: int, loggers: int, days: int = 7, seed: int = 7, code: str = "KB04"):
        self.chance = random.Random(seed)
        self.days = days
        self.now = datetime.combine(FIRST_DAY, datetime.min.time(), UTC) + timedelta(hours=6)
        self.report = Report()
        with self.clock():
            self.production, _ = people.make_production(code, "Kestrel Bay", Timebase(RATE))
            self.producer, _ = people.add_member("peder", self.production, roles.PRODUCER)
            self.loggers = [self._logger(number) for number in range(loggers)]
        self._coming = self._shoot(hours, clips)
        self._by_name = {each.person.username: each for each in self.loggers}

    @contextmanager
    def clock(self):
        """Inside, it is as late as the simulation says."""
        with mock.patch("django.utils.timezone.now", lambda: self.now):
            yield

    def _logger(self, number: int) -> Logger:
        person, _ = people.add_member(f"logger{number:02}", self.production, roles.LOGGER)
        draw = self.chance.uniform
        return Logger(person, self.chance.choice((4, 8, 8, 8, 9)), draw(1.0, 1.9), draw(0.6, 0.95), draw(0, 0.05))

    # What is shot ------------------------------------------------------------------------------

    def _shoot(self, hours: float, clips: int) -> dict[int, list[tuple[str, list[int]]]]:
        """For each day, its cards by name with the lengths of their clips in frames."""
        lengths = [self.chance.lognormvariate(0, 0.9) for _ in range(clips)]
        scale = hours * 3600 * 25 / sum(lengths)
        lengths = [max(25, round(each * scale)) for each in lengths]
        coming: dict[int, list[tuple[str, list[int]]]] = {}
        a_card = max(1, clips // (self.days * len(CAMERAS) * 3))
        for start in range(0, clips, a_card):
            day = start * self.days // clips
            of_day = coming.setdefault(day, [])
            shot = FIRST_DAY - timedelta(days=1) + timedelta(days=day)
            camera = CAMERAS[len(of_day) % len(CAMERAS)]
            name = f"{self.production.code}-{shot:%y%m%d}-{camera}{len(of_day) // len(CAMERAS) + 1:02}"
            of_day.append((name, lengths[start : start + a_card]))
        return coming

    def _deliver(self, day: int) -> None:
        """The day's cards are verified and can be watched."""
        made = []
        for name, lengths in self._coming.get(day, ()):
            taken = set(self.production.cards.values_list("reel", flat=True))
            _, shot, letter = name.split("-")
            card = self.production.cards.create(
                name=name,
                folder=f"/nowhere/{name}",
                reel=reel_for(name, taken),
                shoot_date=datetime.strptime(shot, "%y%m%d").date(),
                camera=letter[0],
                number=int(letter[1:]),
                state=Card.State.VERIFIED,
                proof=Card.Proof.CHECKSUMS,
            )
            start = 25 * 3600 * 9
            for number, length in enumerate(lengths, 1):
                made.append(
                    Clip(
                        card=card,
                        name=f"{letter[0]}001C{number:03}",
                        kind=Clip.Kind.VIDEO,
                        files=[f"CLIP/C{number:03}.MOV"],
                        file_frames=[length],
                        rate_numerator=25,
                        rate_denominator=1,
                        drop=False,
                        frames=length,
                        start_frame=start,
                        timecode_source="timecode track",
                        channels=2,
                        proxy_state=Clip.ProxyState.READY,
                        proxied_frames=length,
                    )
                )
                start += length + 25 * self.chance.randrange(5, 240)
        Clip.objects.bulk_create(made, batch_size=500)
        self.report.shot += sum(RATE.seconds(each.frames) for each in made)

    # What people do ----------------------------------------------------------------------------

    def run(self, each_morning: Callable[["Week", int], None] = lambda week, day: None) -> Report:
        """Live through the week, and as many days more as it takes to watch it all."""
        with self.clock():
            day = 0
            while day < self.days or coverage.total(coverage.by_card(self.production).values()).unwatched:
                assert day < self.days * 3, "it never ends"
                self.now = datetime.combine(FIRST_DAY + timedelta(days=day), datetime.min.time(), UTC)
                self.now += timedelta(hours=BEGIN - 1)
                self._deliver(day)
                each_morning(self, day)
                self._split()
                self._work_through(day)
                day += 1
        return self.report

    def _in(self) -> list[Logger]:
        return [each for each in self.loggers if each.ill_from is None or self.now < each.ill_from]

    def _split(self) -> None:
        hours = {each.person.username: each.hours for each in self._in()}
        try:
            proposed = planning.propose(self.producer, self.production, {"again": True, "minutes_an_hour": 0}, hours)
        except Refusal:
            return  # all of it is held and begun, or seen
        self.report.shares.append(self._longest_to_mean(proposed, hours))
        handing_out.accept(self.producer, proposed, proposed.version)
        self.report.splits += 1
        self.refuse_doubled_stints()

    def _longest_to_mean(self, proposed, hours: dict[str, float]) -> float:
        given = dict.fromkeys(hours, 0)
        for name, start, end in proposed.pieces.values_list("logger__username", "in_frame", "out_frame"):
            given[name] += end - start
        for stint in Stint.objects.filter(logger__username__in=hours, ended_at=None).select_related("clip", "logger"):
            if stint.id not in proposed.wanted["moves"]:
                seen = stint.clip.watched_ranges.values_list("in_frame", "out_frame")
                left = frames.subtract([(stint.in_frame, stint.out_frame)], seen)
                given[stint.logger.username] += frames.count(left)
        mean = sum(given.values()) / sum(hours.values())
        return max(given[name] / hours[name] for name in hours) / mean if mean else 1.0

    def _work_through(self, day: int) -> None:
        """Everybody at once, whoever is earliest next."""
        begin = self.now + timedelta(hours=1)
        order = [(begin, number, each) for number, each in enumerate(self._in())]
        heapq.heapify(order)
        while order:
            self.now, number, logger = heapq.heappop(order)
            if logger.ill_from and self.now >= logger.ill_from:
                self._falls_ill(logger)
                continue
            took = self._step(logger)
            logger.worked += took / 3600
            if took and self.now - begin < timedelta(hours=logger.hours):
                heapq.heappush(order, (self.now, number, logger))

    def _falls_ill(self, logger: Logger) -> None:
        """What was theirs and is not begun is split among the others, in the middle of the day."""
        for stint in Stint.objects.filter(logger=logger.person, ended_at=None).select_related("clip__card__production"):
            stints.hand_back(self.producer, stint)
        self._split()

    def _step(self, logger: Logger) -> float:
        """Watch the next of what is theirs; the seconds that it took, none when there is nothing left to take."""
        here = self._next(logger)
        if here is None:
            return 0.0
        clip, begin = here.clip, self.now
        if logger.clip is None or logger.clip.id != clip.id:
            logger.clip, logger.viewing, logger.batch = clip, uuid.UUID(int=self.chance.getrandbits(128)), 0
            watching.open_viewing(logger.person, clip, logger.viewing)
            Viewing.objects.filter(id=logger.viewing).update(opened_at=begin)  # a column's default asks the real clock
        speed = 4.0 if self.chance.random() < logger.skims else logger.speed
        length = min(here.out_frame - here.in_frame, STEP * 25)
        self.now = begin + timedelta(seconds=length / 25 / speed / logger.attention)
        logger.batch += 1
        span = watching.Span(here.in_frame, here.in_frame + length, speed, muted=False)
        watching.record(logger.person, clip, logger.viewing, logger.batch, [span])
        logger.watched += RATE.seconds(length)
        self.report.batches += 1
        self.report.done_at = self.now
        if self.chance.random() < 0.4 and length > 50:
            self._mark(logger, clip, here.in_frame, length)
        return (self.now - begin).total_seconds()

    def _next(self, logger: Logger) -> coverage.Stretch | None:
        after = logger.clip
        found = next_to_watch.next_unwatched(self.production, logger.person, after)
        if found is None or not self._holds(logger, found):
            try:
                stretches.take_stretch(logger.person, self.production, 60)
            except Refusal:
                return None
            found = next_to_watch.next_unwatched(self.production, logger.person, after)
        return found if found and self._holds(logger, found) else None

    def _holds(self, logger: Logger, found: coverage.Stretch) -> bool:
        mine = Stint.objects.filter(logger=logger.person, clip=found.clip, ended_at=None)
        return mine.filter(in_frame__lte=found.in_frame, out_frame__gte=found.out_frame).exists()

    def _mark(self, logger: Logger, clip: Clip, start: int, length: int) -> None:
        at = start + self.chance.randrange(length - 50)
        tags = tuple(self.chance.sample(TAGS, self.chance.randrange(3)))
        mark = selecting.Mark(at, at + self.chance.randrange(25, 50), tags, "what happens here", 3)
        selecting.put(logger.person, uuid.UUID(int=self.chance.getrandbits(128)), clip, mark, 0)
        self.report.selects += 1

    def forecast(self) -> Forecast | None:
        """When it will be done, as the producer's page says now, who knows how long is still shot and how much."""
        last = FIRST_DAY + timedelta(days=self.days - 2)
        still = sum(sum(lengths) for cards in self._coming.values() for _, lengths in cards) / 25 / 60 / self.days
        forecasting.set_shooting(self.producer, self.production, last.isoformat(), str(round(still)))
        return forecasting.answer(self.production, forecasting.Question()).told

    # What must be so ---------------------------------------------------------------------------

    def refuse_doubled_stints(self) -> None:
        """No frame is held twice for a first look."""
        last: dict[int, Stint] = {}
        held = Stint.objects.filter(clip__card__production=self.production, ended_at=None, second=False)
        for stint in held.order_by("clip", "in_frame"):
            before = last.get(stint.clip_id)
            assert before is None or before.out_frame <= stint.in_frame, (before, stint)
            last[stint.clip_id] = stint

    def refuse_lost_frames(self) -> None:
        """Every frame is watched, skimmed or unwatched, by the stored sums and by the ranges alike, and nobody was
        given what another had watched."""
        total = coverage.total(coverage.by_card(self.production).values())
        assert total.shot == self.report.shot == total.watched + total.skimmed + total.unwatched
        ranges: dict[int, list[tuple[int, int, int]]] = {}
        rows = WatchedRange.objects.filter(clip__card__production=self.production)
        for clip, person, start, end in rows.values_list("clip", "person", "in_frame", "out_frame"):
            ranges.setdefault(clip, []).append((start, end, person))
        seen = 0
        for spans in ranges.values():
            union = frames.count(frames.union((start, end) for start, end, _ in spans))
            by_person: dict[int, list[tuple[int, int]]] = {}
            for start, end, person in spans:
                by_person.setdefault(person, []).append((start, end))
            assert sum(frames.count(frames.union(theirs)) for theirs in by_person.values()) == union, "seen by two"
            seen += union
        assert RATE.seconds(seen) == total.watched + total.skimmed
        stored = Clip.objects.filter(
            card__production=self.production, frames__lt=F("watched_frames") + F("skimmed_frames")
        )
        assert not stored.exists()
        assert sum(each.watched for each in self.loggers) == RATE.seconds(seen)
