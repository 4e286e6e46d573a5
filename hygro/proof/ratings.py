"""Mould index and decay against worked values and a second implementation. Owns the histories."""

from __future__ import annotations

from typing import Final, get_args

import numpy as np

from hygro.assess.decay import (
    Fit,
    critical_hours,
    daily_dose,
    decay_rating,
    dose_of_moisture,
    dose_of_temperature,
    loss_rate,
)
from hygro.assess.mould import mould_index, weeks_to_start, weeks_to_visible
from hygro.proof.check import Array, Check, Line, Origin, Outcome, Picture, compare
from hygro.proof.inputs import rows, table
from hygro.proof.references.growth import SENSITIVITIES, mould_history

PRINTED: Final = "own independent implementation"
HUKKA = Origin("Hukka & Viitanen 1999, equations as printed", PRINTED)
OJANEN = Origin("Ojanen et al. 2010, equations as printed", PRINTED)
WEEK = 168


def mould() -> Outcome:
    """Growth, limits, decline and classes; a long random history written a second time."""
    history, pictures = _history()
    return Outcome((*_weeks(), *_classes(), *_decline(), *history), pictures)


def _weeks() -> list[Check]:
    data = table("mould_index", "wood.csv")
    rh = data["rh"] / 100.0
    reason = "closed form, printed to five decimals"
    found = []
    for key, words, call, shift in (
        ("pine_t1", "weeks to M = 1, pine", weeks_to_start, 0.0),
        ("pine_t3", "weeks to M = 3, pine", weeks_to_visible, 0.0),
        ("spruce_t1", "weeks to M = 1, spruce", weeks_to_start, 0.14),
        ("spruce_t3", "weeks to M = 3, spruce", weeks_to_visible, 0.06),
        ("pine_kilned_t1", "weeks to M = 1, pine kiln-dried", weeks_to_start, -0.33),
    ):
        ours = [call(293.15, h, shift=shift) for h in rh]
        found.append(
            compare("mould_index", f"{words}, 20 °C", ours, data[key], 1e-3, unit="weeks",
                    origin=HUKKA, relative=True, at=data["rh"], at_unit="% rh", reason=reason)
        )  # fmt: skip
    return found


def _constant(kind: str, hours: int, rh: float = 0.97) -> Array:
    return mould_index(np.full(hours + 1, 293.15), np.full(hours + 1, rh), sensitivity=kind)


def _classes() -> list[Check]:
    found = []
    for row in rows("mould_index", "classes.csv"):
        index = _constant(row["class"], 52 * WEEK)
        weeks = [4, 8, 12, 26, 52]
        printed = [float(row[f"m_{w}w"]) for w in weeks]
        found.append(
            compare("mould_index", f"index at 4-52 weeks, 97 %, {row['class']}",
                    index[np.array(weeks) * WEEK], printed, 0.01, unit="1", origin=OJANEN,
                    at=weeks, at_unit="weeks", reason="hourly steps of either kind")
        )  # fmt: skip
        found.append(
            compare("mould_index", f"highest index, 97 %, {row['class']}",
                    float(_constant(row["class"], 400 * WEEK)[-1]), float(row["largest"]), 0.01,
                    unit="1", origin=OJANEN, reason="reached from below after 400 weeks")
        )  # fmt: skip
        if row["days_to_1"] != "nan":
            day = float(np.argmax(index >= 1.0)) / 24.0
            found.append(
                compare("mould_index", f"days to M = 1, 97 %, {row['class']}", day,
                        float(row["days_to_1"]), 1.01 / 24.0, unit="d", origin=OJANEN,
                        reason="one hourly step")
            )  # fmt: skip
    return found


def _decline() -> list[Check]:
    data = table("mould_index", "decline.csv")
    hours = data["hours"].astype(int)
    size = int(hours.max()) + 1
    index = mould_index(np.full(size, 293.15), np.full(size, 0.40), model="hukka1999", start=3.0)
    return [
        compare("mould_index", "decline on wood from M = 3", index[hours], data["index"], 1e-6,
                unit="1", origin=HUKKA, at=hours, at_unit="h", reason="arithmetic")
    ]  # fmt: skip


def _history() -> tuple[list[Check], tuple[Picture, ...]]:
    random = np.random.default_rng(20)
    t = np.arange(3 * 8760 + 1)
    celsius = (
        11.0 + 13.0 * np.sin(t / 1394.0) + 4.0 * np.sin(t / 3.82) + random.normal(0, 1, t.size)
    )
    rh = np.clip(0.88 + 0.13 * np.sin(t / 97.0) + random.normal(0, 0.03, t.size), 0.2, 1.02)
    origin = Origin("the same papers, written a second time", "own independent implementation")
    found, lines = [], []
    for kind, constants in SENSITIVITIES.items():
        ours = mould_index(celsius + 273.15, rh, sensitivity=kind, decline=0.25)
        twin = mould_history(celsius, 100.0 * rh, constants, 0.25)
        found.append(
            compare("mould_index", f"3 years of random hours, {kind}", ours, twin, 1e-8, unit="1",
                    origin=origin, at=t, at_unit="h", note=f"highest index {twin.max():.2f}",
                    reason="the same operations in another order, 26 280 steps")
        )  # fmt: skip
        pick = slice(0, None, 24)
        lines += [Line(kind, t[pick] / 8760.0, ours[pick]),
                  Line(kind, t[::720] / 8760.0, twin[::720], True)]  # fmt: skip
    picture = Picture("mould_index", "Mould index in 3 years of random hours", "years",
                      "mould index", tuple(lines))  # fmt: skip
    return found, (picture,)


def decay() -> Outcome:
    """Brown rot, dose-response models and rating against worked values."""
    rot, dose = table("decay", "brown_rot.csv"), table("decay", "dose.csv")
    rating = table("decay", "rating.csv")
    viitanen = Origin("Viitanen et al. 2010 (from memory)", PRINTED)
    brischke = Origin("Brischke & Rapp 2010; Isaksson et al. 2013 (from memory)", PRINTED)
    states = list(zip(rot["t"] + 273.15, rot["rh"] / 100.0, strict=True))
    T, u = dose["t"] + 273.15, dose["u"] / 100.0
    dose_u = np.maximum(dose["dose_u"], 0.0)  # the table prints -0.00075 at 25 %, no dose
    half = "half of the last printed digit"
    return Outcome(
        (
            compare("decay", "days to activation of brown rot",
                    [critical_hours(*s) / 24.0 for s in states], rot["days_to_activation"], 1e-5,
                    unit="d", origin=viitanen, reason=half),
            compare("decay", "loss of mass in 30 days once active",
                    [loss_rate(*s) * 720.0 * 100.0 for s in states], rot["loss_30d"], 1e-5,
                    unit="%", origin=viitanen, reason=half),
            compare("decay", "dose of temperature", dose_of_temperature(T), dose["dose_t"], 1e-6,
                    unit="d", origin=brischke, reason=half),
            compare("decay", "dose of moisture", dose_of_moisture(u), dose_u, 1e-6, unit="d",
                    origin=brischke, reason=half),
            compare("decay", "daily dose, both", daily_dose(T, u), dose["dose"], 1e-6, unit="d",
                    origin=brischke, reason=half),
            compare("decay", "daily dose, simplified", daily_dose(T, u, model="simplified"),
                    dose["simple"], 1e-6, unit="d", origin=brischke, reason=half),
            *(
                compare("decay", f"rating 0-4, fit of {fit[-4:]}",
                        decay_rating(rating["dose"], fit=fit),
                        rating[f"rating_{fit[-4:]}"], 1e-6, unit="1", origin=brischke, reason=half)
                for fit in get_args(Fit)
            ),
        )
    )  # fmt: skip
