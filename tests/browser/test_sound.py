"""Every channel of the proxy reaches the browser by itself: heard alone, in turn, at its own level, or not at all.

Each channel of the take holds a tone of its own; what a person hears is measured just before it leaves the page.
"""

import pytest
from playwright.sync_api import expect

from review.models import Clip
from tests.browser.desk import Desk
from tests.conftest import check, work_off
from tests.media.clips import make_tones, tone

# Listens to what a page sends to the loudspeakers, on both sides.
EAVESDROP = """
const connect = AudioNode.prototype.connect;
AudioNode.prototype.connect = function (to, ...more) {
  if (to instanceof AudioDestinationNode) {
    const apart = this.context.createChannelSplitter(2);
    connect.call(this, apart);
    window.ears = [0, 1].map((side) => {
      const ear = this.context.createAnalyser();
      ear.fftSize = 16384;
      ear.smoothingTimeConstant = 0;
      connect.call(apart, ear, side);
      return ear;
    });
  }
  return connect.call(this, to, ...more);
};
"""
# The tones (Hz) within 20 dB of the loudest, in each ear.
HEARD = """() => window.ears.map((ear) => {
  const levels = new Float32Array(ear.frequencyBinCount);
  ear.getFloatFrequencyData(levels);
  const loudest = Math.max(...levels);
  const step = ear.context.sampleRate / ear.fftSize;
  const found = [];
  levels.forEach((level, at) => {
    if (level > loudest - 20 && level > -70 && level >= (levels[at - 1] ?? -999) && level > (levels[at + 1] ?? -999))
      found.push(Math.round(at * step));
  });
  return found;
})"""


@pytest.fixture
def take(cast, root, made_once):
    """A recorder's take with this many channels, whose names the recorder wrote where there are any."""

    def make(channels: int) -> Clip:
        folder = root / "KB04-261112-S01"
        folder.mkdir()
        make_tones(folder / "T001.WAV", channels, seconds=40)
        card = check(folder, cast.kb04)
        work_off()
        return card.clips.select_related("card__production").get()

    def take(channels: int, names: tuple[str, ...] = ()) -> Clip:
        clip = made_once(f"take-{channels}", lambda: make(channels))
        clip.channel_names = list(names)
        clip.save()
        return clip

    return take


def desk_of(room, person, clip, **options):
    """Somebody opens the clip, and its sound desk."""
    context = room.context(person, **options)
    context.add_init_script(EAVESDROP)
    desk = Desk.open(context.new_page(), clip)
    desk.part("sound").locator("summary").click()
    return desk


def hears(desk, left: list[int], right: list[int]) -> None:
    """Wait until these tones, and no others, are in the ears: a tone is known to 6 Hz."""
    wanted = [left, right]
    for _ in range(40):
        heard = desk.page.evaluate(HEARD) if desk.page.evaluate("() => 'ears' in window") else []
        if [[round(each / 20) for each in ear] for ear in heard] == [[each / 20 for each in ear] for ear in wanted]:
            return
        desk.page.wait_for_timeout(250)
    raise AssertionError(f"{heard} is heard, not {wanted}")


@pytest.mark.parametrize("channels", [2, 4, 6, 8])  # a browser mixes two, four and six by rules of its own
def test_each_channel_is_heard_alone_on_both_ears(room, cast, take, channels):
    desk = desk_of(room, cast.logger, take(channels))
    desk.press("Space")
    for channel in range(channels):
        desk.page.locator(f'#channels [data-channel="{channel}"]').click()
        hears(desk, [tone(channel)], [tone(channel)])
    desk.page.locator('#channels [data-channel="all"]').click()
    every = [tone(channel) for channel in range(channels)]
    hears(desk, *([every[:1], every[1:]] if channels == 2 else [every, every]))


def test_the_channels_have_the_recorders_names_and_the_choice_is_remembered(room, cast, take):
    clip = take(3, names=("Boom", "", "Ana"))
    desk = desk_of(room, cast.logger, clip)
    assert desk.page.locator("#channels .name").all_inner_texts() == ["1 Boom", "2", "3 Ana"]
    expect(desk.page.locator('[data-channel="all"]')).to_have_attribute("aria-pressed", "true")
    desk.page.get_by_role("button", name="Hear 3 Ana alone").click()
    expect(desk.part("heard")).to_have_text("3 Ana alone")
    desk.reload()
    expect(desk.part("heard")).to_have_text("3 Ana alone")
    desk.press("Space")  # and it is heard without being chosen again
    hears(desk, [tone(2)], [tone(2)])


def test_each_channel_has_a_mute_and_a_level(room, cast, take):
    desk = desk_of(room, cast.logger, take(3))
    desk.press("Space")
    desk.page.get_by_role("button", name="Mute 2").click()
    hears(desk, *[[tone(0), tone(2)]] * 2)
    desk.page.get_by_label("Level of 1").fill("0")
    hears(desk, [tone(2)], [tone(2)])
    expect(desk.part("heard")).to_have_text("mixed")
    desk.reload()
    expect(desk.page.locator('[data-mute="1"]')).to_have_attribute("aria-pressed", "true")
    expect(desk.page.locator('[data-level="0"]')).to_have_value("0")


def test_each_is_heard_alone_in_turn_and_it_says_which(room, cast, take):
    desk = desk_of(room, cast.logger, take(3, names=("Boom",)))
    desk.press("Space")
    turn = desk.page.get_by_role("button", name="in turn")
    turn.click()
    expect(desk.part("heard")).to_have_text("1 Boom alone, in turn")
    hears(desk, [tone(0)], [tone(0)])
    expect(desk.part("heard")).to_have_text("2 alone, in turn")
    hears(desk, [tone(1)], [tone(1)])
    desk.page.locator('[data-channel="all"]').click()
    expect(turn).to_have_attribute("aria-pressed", "false")
    expect(desk.part("heard")).to_have_text("all")


def test_a_meter_moves_with_its_channel_and_stands_still_for_who_wants_no_motion(room, cast, take):
    clip = take(2)
    width = "() => parseFloat(document.querySelector('.loudness i').style.width) || 0"
    desk = desk_of(room, cast.logger, clip)
    assert desk.page.evaluate(width) == 0
    desk.press("Space")
    for _ in range(40):
        if desk.page.evaluate(width) > 30:
            break
        desk.page.wait_for_timeout(100)
    else:
        raise AssertionError("the meter does not move")
    desk.press("Space")
    still = desk_of(room, cast.logger, clip, reduced_motion="reduce")
    still.press("Space")
    hears(still, [tone(0)], [tone(1)])
    assert still.page.evaluate(width) == 0


def test_with_every_channel_muted_watching_is_skimming(room, cast, take):
    clip = take(2)
    desk = desk_of(room, cast.logger, clip)
    for channel in ("1", "2"):
        desk.page.get_by_role("button", name=f"Mute {channel}").click()
    expect(desk.part("heard")).to_have_text("nothing (skimmed)")
    desk.press("Space")
    desk.shows(*range(20, 60))
    desk.press("Space")
    expect(desk.part("coverage")).to_contain_text("skimmed", timeout=10_000)
    clip.refresh_from_db()
    assert clip.watched_frames == 0 and clip.skimmed_frames >= 19


def test_the_sheet_shows_the_outline_of_the_channel_that_is_heard_alone(room, cast, take):
    desk = desk_of(room, cast.logger, take(3))
    film = desk.page.locator(".sheet .line canvas").first
    before = film.evaluate("(canvas) => canvas.toDataURL()")
    desk.page.get_by_role("button", name="Hear 2 alone").click()
    desk.page.wait_for_timeout(300)
    assert film.evaluate("(canvas) => canvas.toDataURL()") != before


def test_a_clip_without_sound_says_so(room, cast, ready_clip):
    clip = ready_clip(frames=150)
    clip.channels = 0
    clip.save()
    desk = room.watch(cast.logger, clip)
    expect(desk.page.get_by_text("No sound on this clip.")).to_be_visible()
    expect(desk.part("sound")).to_have_count(0)
