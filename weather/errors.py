"""The errors of the weather package and their base, which a program built on it may share."""

from __future__ import annotations


class UserError(ValueError):
    """Something the user can mend: the message says where, what, the bound and the likely cause."""


class WeatherError(UserError):
    """Weather input is missing, malformed, out of bounds or not good enough for what was asked."""


def fault(place: str, what: str, cause: str = "") -> WeatherError:
    """Build an error that names the place, what is wrong there and the likely cause.

    Parameters
    ----------
    place : str
        File and line, or variable and stamp.
    what : str
        The value met and the bound it breaks.
    cause : str, optional
        What probably went wrong, or what to try.
    """
    return WeatherError(f"{place}: {what}" + (f" ({cause})" if cause else ""))
