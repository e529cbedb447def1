"""How far a long piece of work is, and how long it will still take."""

_SOONEST = 1.0  # seconds: before that there is no speed to speak of

_UNITS = ("bytes", "kB", "MB", "GB", "TB")


def left(done: int, total: int, resumed: int, seconds: float) -> float | None:
    """The seconds that the rest will take at the speed so far; None while nobody can tell.

    `done` and `total` are bytes (or frames). `resumed` of them were done by an earlier run, and `seconds` is how long
    this run has worked: what it did not do itself says nothing of its speed.
    """
    if done >= total:
        return 0.0
    if done <= resumed or seconds < _SOONEST:
        return None
    return (total - done) * seconds / (done - resumed)


def in_bytes(count: float) -> str:
    """As people say it, with three figures: '412 GB', '1.53 TB', '0 bytes'. A kB is 1,000 bytes."""
    unit = 0
    while count >= 999.5 and unit < len(_UNITS) - 1:
        count /= 1000
        unit += 1
    digits = 0 if unit == 0 or count >= 99.95 else 1 if count >= 9.995 else 2
    return f"{count:,.{digits}f} {_UNITS[unit]}"


def in_time(seconds: float) -> str:
    """As people say it: '40 s', '3 min', '2 h 05 min'. Rounded up, so that it is never over before its time."""
    if seconds <= 59:
        return f"{int(-(-seconds // 1))} s"
    minutes = int(-(-seconds // 60))
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02} min"


def bytes_line(done: int, total: int, resumed: int, seconds: float) -> str:
    """'12.4 GB of 20.0 GB (62 %), 310 MB/s, 25 s left'; the numbers are those of left()."""
    line = f"{in_bytes(done)} of {in_bytes(total)} ({percent(done, total)} %)"
    if done > resumed and seconds >= _SOONEST:
        line += f", {in_bytes((done - resumed) / seconds)}/s"
    rest = left(done, total, resumed, seconds)
    return f"{line}, {in_time(rest)} left" if rest else line


def percent(done: int, total: int) -> int:
    """Whole per cent, rounded down; 0 of nothing is 0."""
    return min(100, 100 * done // total) if total else 0
