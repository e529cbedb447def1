"""A selects list as an OpenTimelineIO timeline: clips of any rates one after another, with all that is known.

Each event is one clip in the video track, if it has picture, and one in the audio track beside it, if it has sound;
gaps keep both in the order of the list. Times are source timecode, counted in the clip's own rate.
Control characters are left out of names and notes: the library ends a text at the first NUL.
"""

from urllib.parse import quote

from opentimelineio import opentime, schema

from review.exports.options import ExportOptions
from review.exports.pull import Event, ExportFile, SelectsList
from review.exports.text import file_name, without_controls

METADATA = "rushlight"  # the key under which our own facts travel


def otio_timeline(selects: SelectsList, _: ExportOptions | None = None) -> list[ExportFile]:
    """`selects` as one .otio file, media found at card/path below the folder that holds the cards."""
    timeline = schema.Timeline(without_controls(selects.title), metadata={METADATA: {"production": selects.production}})
    for kind, is_in in _TRACKS.items():
        if any(map(is_in, selects.events)):
            children = [
                _clip(event) if is_in(event) else schema.Gap(duration=_time(event, event.length))
                for event in selects.events
            ]
            timeline.tracks.append(schema.Track(kind, children, kind=kind))
    content = timeline.to_json_string(indent=2).encode()
    return [ExportFile(file_name(selects.title, "otio"), content, "application/json")]


# What has neither picture nor sound that is known of stays in the audio track: nothing is left out.
_TRACKS = {
    schema.TrackKind.Video: lambda event: event.has_picture,
    schema.TrackKind.Audio: lambda event: event.channels > 0 or not event.has_picture,
}


def _clip(event: Event) -> schema.Clip:
    selected = opentime.TimeRange(_time(event, event.source_frame), _time(event, event.length))
    first, after = event.held or (0, event.clip_frames)
    media = schema.ExternalReference(
        target_url=quote(f"{event.card}/{event.file}"),
        available_range=opentime.TimeRange(_time(event, event.clip_start + first), _time(event, after - first)),
    )
    clip = schema.Clip(without_controls(event.clip), media, selected, metadata={METADATA: _facts(event)})
    if event.tags or event.note:
        tags, note = without_controls(", ".join(event.tags)), without_controls(event.note)
        clip.markers.append(schema.Marker(tags, selected, comment=note))
    return clip


def _time(event: Event, frames: int) -> opentime.RationalTime:
    return opentime.RationalTime(frames, float(event.timebase.rate.fraction))


def _facts(event: Event) -> dict:
    rate = event.timebase.rate
    return {
        "card": event.card,
        "reel": event.reel,
        "camera": event.camera,
        "shoot_date": event.shoot_date.isoformat() if event.shoot_date else "",
        "file": event.file,
        "more_files": list(event.more_files),
        "clip": without_controls(event.clip),
        "select": event.select_id,
        "rate": f"{rate.numerator}/{rate.denominator}",
        "drop": event.timebase.drop,
        "source_timecode": event.source_timecode,
        "source_in": event.source_in,
        "source_out": event.source_out,
        "in_frame": event.in_frame,
        "out_frame": event.out_frame,
        "channels": event.channels,
        "tags": [without_controls(tag) for tag in event.tags],
        "note": without_controls(event.note),
        "rating": event.rating,
        "logger": event.logger,
        **_of_the_list(event),
    }


def _of_the_list(event: Event) -> dict:
    """What the list did to the select; nothing where it took it as it was marked."""
    told = {}
    if event.section:
        told["section"] = without_controls(event.section)
    if event.handles != (0, 0):
        told["handles"] = list(event.handles)
    if event.also:
        told["also"] = list(event.also)
    return told
