"""What can go wrong with media, in two kinds: the file's fault and ffmpeg's."""


class MediaRefused(ValueError):
    """A file that cannot be read as picture or sound; the message says why and what to do."""


class MediaFailed(RuntimeError):
    """ffmpeg did not do what was asked; the message carries its own last words."""
