"""Measured weather from an open service, only when asked.

NASA POWER gives hourly sun and air for any point on Earth from 2001 on, by satellite and
reanalysis, in cells of one degree (sun) and half a degree (air). Nothing here runs unless
:func:`fetch_weather` is called. Every year is kept in the cache directory as soon as it is
whole, so that a broken download goes on where it stopped; the result is an ordinary CSV
weather file that works offline from then on.
"""

from __future__ import annotations

import json
import queue
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from sunpantry.errors import InputError, WeatherError
from sunpantry.sky.place import Place

if TYPE_CHECKING:
    import pandas as pd

SERVICE_URL = "https://power.larc.nasa.gov/api/temporal/hourly/point"
FIRST_YEAR = 2001
MOST_YEARS = 30
# The acknowledgement the service asks for; its wording is from memory.
ACKNOWLEDGEMENT = (
    "NASA Langley Research Center POWER Project, funded through the NASA Earth Science "
    "Directorate Applied Science Program; open data"
)
_COLUMNS = {
    "ghi": "ghi_w_m2",
    "dni": "dni_w_m2",
    "dhi": "dhi_w_m2",
    "temp_air": "temperature_c",
}
_TO_WATTS = {"W/m^2": 1.0, "Wh/m^2": 1.0, "kW-hr/m^2": 1e3, "MJ/hr": 1e6 / 3600.0}
_POWER_NAMES = {
    "ghi": "ALLSKY_SFC_SW_DWN",
    "dni": "ALLSKY_SFC_SW_DNI",
    "dhi": "ALLSKY_SFC_SW_DIFF",
    "temp_air": "T2M",
}

Progress = Callable[[int, int, str], None]
_Answer: TypeAlias = "tuple[pd.DataFrame, dict[str, Any]]"


@dataclass(frozen=True, slots=True)
class Patience:
    """How long to wait for a service, and how often to ask again.

    Parameters
    ----------
    timeout_s : float
        Longest wait for one year [s].
    attempts : int
        How often a year is asked for.
    pause_s : float
        Wait before the second attempt; doubled before each further one [s].
    """

    timeout_s: float = 90.0
    attempts: int = 4
    pause_s: float = 2.0


USUAL_PATIENCE = Patience()


def fetch_weather(
    place: Place,
    *,
    years: int = 15,
    last_year: int | None = None,
    folder: Path | None = None,
    progress: Progress | None = None,
    patience: Patience = USUAL_PATIENCE,
    base_url: str = SERVICE_URL,
) -> Path:
    """Fetch years of hourly weather and keep them as one CSV file.

    Parameters
    ----------
    place : Place
        Where.
    years : int
        How many calendar years, 2 to 30; one fewer winters come of them.
    last_year : int, optional
        The last of them; last year by default.
    folder : Path, optional
        Where the years are kept; in the cache directory of the user by default.
    progress : callable, optional
        Called with the number of years done, of all years, and a sentence.
    patience : Patience
        Time-outs and retries.
    base_url : str
        Address of the service.

    Returns
    -------
    Path
        A file for :func:`~sunpantry.sky.files.read_weather_file`, with its source and
        acknowledgement in its head.

    Raises
    ------
    InputError
        When the years are out of range.
    WeatherError
        When the service cannot be reached or gives nothing usable; the years that came
        through are kept, and the next call goes on from there.
    """
    wanted = _wanted_years(years, last_year)
    keep = folder or _default_folder()
    keep.mkdir(parents=True, exist_ok=True)
    stem = f"nasa-power_{place.latitude:.4f}_{place.longitude:.4f}"
    tell = progress or _silent
    parts: list[Path] = []
    for done, year in enumerate(wanted):
        part = keep / f"{stem}_{year}.csv"
        if not part.exists():
            tell(done, len(wanted), f"asking for {year}")
            data, meta = _persistently(place, year, patience, base_url)
            _write_whole(part, _head(meta) + data.to_csv(lineterminator="\n"))
        parts.append(part)
    tell(len(wanted), len(wanted), "all years are here")
    whole = keep / f"{stem}_{wanted[0]}-{wanted[-1]}.csv"
    _write_whole(whole, _joined(parts))
    return whole


def _silent(done: int, total: int, sentence: str) -> None:
    """Tell nobody."""


def _wanted_years(years: int, last_year: int | None) -> range:
    this_year = datetime.now(UTC).year
    last = this_year - 1 if last_year is None else last_year
    if not 2 <= years <= MOST_YEARS:
        raise InputError.one("years", years, f"from 2 to {MOST_YEARS}", "15 is a good number")
    first = last - years + 1
    if first < FIRST_YEAR or last >= this_year:
        raise InputError.one(
            "years",
            f"{first} to {last}",
            f"whole years from {FIRST_YEAR} to {this_year - 1}",
            "ask for fewer years or another last year",
        )
    return range(first, last + 1)


def _default_folder() -> Path:
    from sunpantry.sky.cache import cache_directory

    folder = cache_directory()
    if folder is None:
        raise InputError.one(
            "SUNPANTRY_CACHE", "off", "a directory to keep the years in", "name one, or unset it"
        )
    return folder / "nasa-power"


def _persistently(place: Place, year: int, patience: Patience, base_url: str) -> _Answer:
    """Ask until a whole year comes, with longer and longer pauses."""
    why = ""
    for attempt in range(patience.attempts):
        if attempt:
            time.sleep(patience.pause_s * 2 ** (attempt - 1))
        try:
            return _one_year(place, year, patience.timeout_s, base_url)
        except _UnusableError as fault:
            why = str(fault)
    raise WeatherError(
        f"NASA POWER, {year}: {why} (asked {patience.attempts} times); check the connection and "
        "ask again later: the years that came are kept. Without it the built-in climate table "
        "still works, offline"
    )


class _UnusableError(Exception):
    """One answer, or the lack of one, in words."""


def _one_year(place: Place, year: int, timeout_s: float, base_url: str) -> _Answer:
    import requests

    try:
        data, meta = _within(timeout_s, lambda: _ask(place, year, base_url))
    except TimeoutError as error:
        raise _UnusableError(f"no answer within {timeout_s:g} s") from error
    except requests.HTTPError as error:
        raise _UnusableError(f"the service refused: {_messages(error)}") from error
    except requests.JSONDecodeError as error:
        raise _UnusableError("the answer was cut short, or the service is overloaded") from error
    except requests.RequestException as error:
        raise _UnusableError("the service cannot be reached") from error
    except (KeyError, IndexError, TypeError, ValueError) as error:
        raise _UnusableError(f"the answer is not in the agreed form ({error!r})") from error
    return _tidied(data, meta, year), meta


def _within(timeout_s: float, work: Callable[[], _Answer]) -> _Answer:
    """Run ``work`` beside us and stop waiting for it after a while.

    The library's own reader waits for ever; a thread left behind ends with the process.
    """
    answers: queue.Queue[_Answer | Exception] = queue.Queue()

    def run() -> None:
        try:
            answers.put(work())
        except Exception as error:  # noqa: BLE001  handed to the thread that waits
            answers.put(error)

    threading.Thread(target=run, daemon=True).start()
    try:
        answer = answers.get(timeout=timeout_s)
    except queue.Empty:
        raise TimeoutError from None
    if isinstance(answer, Exception):
        raise answer
    return answer


def _ask(place: Place, year: int, base_url: str) -> _Answer:
    from pvlib.iotools import get_nasa_power

    data, meta = get_nasa_power(
        place.latitude,
        place.longitude,
        f"{year}-01-01",
        f"{year}-12-31",
        parameters=list(_COLUMNS),
        url=base_url,
    )
    return data, meta


def _messages(error: Exception) -> str:
    """What the service says in its error: a list of messages, or whatever it sent."""
    said = error.args[0] if error.args else ""
    if isinstance(said, dict):
        said = said.get("messages") or said.get("message") or said.get("detail") or said
    if isinstance(said, list):
        said = "; ".join(map(str, said))
    return (said if isinstance(said, str) else json.dumps(said))[:200]


def _tidied(data: pd.DataFrame, meta: dict[str, Any], year: int) -> pd.DataFrame:
    import numpy as np
    import pandas as pd

    lacking = [name for name in _COLUMNS if name not in data]
    if lacking:
        raise _UnusableError(
            f"the answer lacks {', '.join(_POWER_NAMES[name] for name in lacking)}"
        )
    hours = pd.date_range(f"{year}-01-01", f"{year}-12-31 23:00", freq="h", tz="UTC")
    if not data.index.equals(hours):
        raise _UnusableError(f"the answer has {len(data)} of the {len(hours)} hours of the year")
    table = data[list(_COLUMNS)].astype(float).replace([np.inf, -np.inf], np.nan)
    if table["ghi"].isna().all():
        raise _UnusableError("the answer has no sun in it, only fill values")
    for name in ("ghi", "dni", "dhi"):
        unit = str(meta["parameters"][_POWER_NAMES[name]]["units"])
        if unit not in _TO_WATTS:
            raise _UnusableError(f"the unit '{unit}' of {_POWER_NAMES[name]} is not known")
        table[name] *= _TO_WATTS[unit]
    stamped = table.set_index(hours.strftime("%Y-%m-%dT%H:%MZ"))
    return stamped.rename(columns=_COLUMNS).rename_axis("time").round(3)


def _head(meta: dict[str, Any]) -> str:
    sources = ", ".join(map(str, meta.get("sources", ())))
    return (
        f"# source: {meta.get('title', 'NASA POWER hourly data')} ({sources})\n"
        f"# source: {ACKNOWLEDGEMENT}\n"
        f"# latitude: {meta['latitude']}\n"
        f"# longitude: {meta['longitude']}\n"
    )


def _joined(parts: list[Path]) -> str:
    """One file of several: the head and names of the first, the hours of all."""
    texts = [part.read_text(encoding="utf-8") for part in parts]
    hours = [text[text.index("\ntime,") + 1 :].split("\n", 1)[1] for text in texts[1:]]
    return texts[0] + "".join(hours)


def _write_whole(path: Path, text: str) -> None:
    """Write beside the final name and move it there, so that no half file is ever found."""
    import os
    import tempfile

    handle, name = tempfile.mkstemp(dir=path.parent, suffix=".part")
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as stream:
            stream.write(text)
        Path(name).replace(path)
    finally:
        Path(name).unlink(missing_ok=True)
