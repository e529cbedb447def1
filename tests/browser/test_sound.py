"""One microphone at a time: every channel of the proxy reaches the browser by itself, and can be heard alone.

Each channel of the take holds a tone of its own; what a person hears is measured just before it leaves the page.
"""

import pytest
from playwright.sync_api import expect

from review.proxying import media_folder
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
def take(cast, root):
    """A recorder's take with this many channels, whose names the recorder wrote where there are any."""

    def make(channels: int, names: tuple[str, ...] = ()):
        folder = root / "KB04-261112-S01"
        folder.mkdir()
        make_tones(folder / "T001.WAV", channels, seconds=40)
        clip = check(folder, cast.kb04).clips.get()
        clip.channel_names = list(names)
        clip.save()
        work_off()
        clip.refresh_from_db()
        return clip

    return make


def desk_of(room, person, clip):
    context = room.context(person)
    context.add_init_script(EAVESDROP)
    return Desk.open(context.new_page(), clip)


def hears(desk, left: list[int], right: list[int]) -> None:
    """Wait until these tones, and no others, are in the ears: a tone is known to 6 Hz."""
    wanted = [left, right]
    for _ in range(40):
        heard = desk.page.evaluate(HEARD) if desk.page.evaluate("() => 'ears' in window") else []
        if [[round(each / 20) for each in ear] for ear in heard] == [[each / 20 for each in ear] for ear in wanted]:
            return
        desk.page.wait_for_timeout(250)
    raise AssertionError(f"{heard} is heard, not {wanted}")


@pytest.mark.parametrize("channels", [2, 3, 4, 6, 8])
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
    buttons = desk.page.locator("#channels button")
    assert buttons.all_inner_texts() == ["all", "1 Boom", "2", "3 Ana"]
    expect(buttons.nth(0)).to_have_attribute("aria-pressed", "true")
    buttons.nth(3).click()
    desk.reload()
    expect(buttons.nth(3)).to_have_attribute("aria-pressed", "true")
    desk.press("Space")  # and it is heard without being chosen again
    hears(desk, [tone(2)], [tone(2)])


def test_one_channel_leaves_nothing_to_choose(room, cast, take):
    clip = take(1)
    assert (media_folder(clip.id) / "proxy.mp4").exists()
    expect(desk_of(room, cast.logger, clip).part("channels")).to_be_hidden()
