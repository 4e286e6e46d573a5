"""Reference data files against separately worked numbers, and the rules their folders keep."""

from __future__ import annotations

import ast
import csv
import importlib.util
import sys
import tomllib
from pathlib import Path

import numpy as np
import pytest

ROOT = Path(__file__).parents[2]
CASES = ROOT / "cases"
sys.path.insert(0, str(CASES))

import reference_case  # noqa: E402
import reference_fv  # noqa: E402

NAMES = [
    "en15026_step",
    "hamstad_1",
    "hamstad_2",
    "hamstad_3",
    "hamstad_4",
    "hamstad_5",
    "heat_step_surface_coefficient",
    "periodic_transmission",
    "two_layer_radiation",
    "constant_diffusivity_uptake",
    "exponential_diffusivity_uptake",
    "cup_tests",
    "moisture_buffer",
    "stefan_one_phase",
    "stefan_two_phase",
    "monthly_method",
    "mould_index",
    "decay",
    "code_tables",
    "field_trends",
]
ALLOWED = {
    "numpy",
    "scipy",
    "numba",
    "sksundae",
    "reference_case",
    "reference_fv",
    *sys.stdlib_module_names,
}


def rows(path: Path) -> list[dict[str, str]]:
    lines = [line for line in path.read_text().splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


def independent_files() -> list[Path]:
    found = sorted((ROOT / "hygro" / "proof" / "references").glob("*.py"))
    found += [CASES / "reference_fv.py", CASES / "reference_case.py"]
    return found + [path for name in NAMES for path in sorted((CASES / name).glob("*.py"))]


@pytest.mark.parametrize(
    "path", independent_files(), ids=lambda path: f"{path.parent.name}/{path.name}"
)
def test_reference_code_imports_nothing_of_the_engine(path):
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            modules = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            modules = [node.module or ""]
        else:
            continue
        for module in modules:
            own = module.startswith("hygro.proof.references")
            assert own or module.split(".")[0] in ALLOWED, f"{path.name} imports {module}"


@pytest.mark.parametrize("name", NAMES)
def test_each_case_states_its_source_and_its_marks(name):
    text = (CASES / name / "SOURCE.md").read_text()
    assert "memory" in text or "computed" in text.lower() or "seen" in text


@pytest.mark.parametrize(
    "path",
    [path for name in NAMES for path in sorted((CASES / name).glob("*.csv"))],
    ids=lambda path: f"{path.parent.name}/{path.name}",
)
def test_each_data_file_says_where_it_comes_from(path):
    head = " ".join(line for line in path.read_text().splitlines() if line.startswith("#"))
    assert any(word in head.lower() for word in ("computed", "stand-in"))
    assert rows(path), "no data"


def case(name: str) -> dict:
    return tomllib.loads((CASES / name / "case.toml").read_text())


def content(data: dict, humidity: float) -> float:
    row = reference_fv.material_row(data)
    return reference_fv.retention(row, reference_fv.suction_of_humidity(humidity))[0]


@pytest.mark.parametrize(
    ("name", "material", "humidity", "worked", "digit"),
    [
        # worked separately from the printed functions (from memory), last digit given
        ("en15026_step", "concrete", 0.5, 42.94, 0.01),
        ("en15026_step", "concrete", 0.95, 129.04, 0.01),
        ("hamstad_1", "load_bearing", 0.8, 79.26, 0.01),
        ("hamstad_2", "wall", 0.95, 84.769, 0.001),
        ("hamstad_2", "wall", 0.45, 19.536, 0.001),
        ("hamstad_2", "wall", 0.65, 30.506, 0.001),
        ("hamstad_5", "brick", 0.60, 2.99, 0.01),
        ("hamstad_5", "brick", 0.80, 4.52, 0.01),
        ("hamstad_5", "brick", 0.95, 9.42, 0.01),
        ("hamstad_5", "mortar", 0.60, 2.41, 0.01),
        ("hamstad_5", "mortar", 0.80, 4.06, 0.01),
        ("hamstad_5", "mortar", 0.95, 37.45, 0.1),
        ("hamstad_5", "insulation", 0.60, 2.33, 0.01),
        ("hamstad_5", "insulation", 0.80, 7.78, 0.01),
        ("hamstad_5", "insulation", 0.95, 65.8, 0.1),
    ],
)
def test_case_file_materials_hold_the_worked_contents(name, material, humidity, worked, digit):
    # one digit: half for rounding, half for the gas constant used there (461.4 to 462)
    assert content(case(name)["material"][material], humidity) == pytest.approx(worked, abs=digit)


@pytest.mark.parametrize(
    ("material", "contents", "worked"),
    [
        ("brick", (0.0, 100.0, 373.5), (1.430e-16, 1.393e-9, 8.573e-7)),
        ("mortar", (0.0, 100.0, 700.0), (2.777e-18, 2.248e-15, 6.010e-12)),
        ("insulation", (0.0, 100.0, 871.0), (8.242e-21, 5.335e-13, 2.226e-9)),
    ],
)
def test_exercise_5_liquid_conductivities_hold_the_worked_values(material, contents, worked):
    row = reference_fv.material_row(case("hamstad_5")["material"][material])
    found = [reference_fv.liquid_conductivity(row, w, 1.0, -1.0) for w in contents]
    np.testing.assert_allclose(found, worked, rtol=4e-4)  # four digits worked


def test_exercise_1_start_means_the_worked_humidities():
    """φ = 0.992 and 0.589 at 10 °C with the Kelvin relation at that temperature."""
    data = case("hamstad_1")
    for layer, worked in zip(data["layer"], (0.992, 0.589), strict=True):
        row = reference_fv.material_row(data["material"][layer["material"]])
        suction = reference_fv.suction_of_content(row, layer["initial_content"])
        humidity = np.exp(-suction / (1000.0 * 461.5 * 283.15))
        assert humidity == pytest.approx(worked, abs=6e-4)  # half of the last digit


def test_benchmark_profile_at_30_days_agrees_with_a_separate_finite_volume_run():
    """400 cells graded from 0.1 mm, 20 m deep, stated within 0.04 kg/m³ and 0.001 K."""
    found = {
        (float(row["day"]), float(row["x"])): float(row["content"])
        for row in rows(CASES / "en15026_step" / "reference_content.csv")
    }
    worked = {0.005: 110.81, 0.010: 84.01, 0.015: 63.28, 0.020: 53.32, 0.030: 45.68}
    for x, value in worked.items():
        assert found[30.0, x] == pytest.approx(value, abs=0.045)
    heat = {
        (float(row["day"]), float(row["x"])): float(row["temperature"])
        for row in rows(CASES / "en15026_step" / "reference_temperature.csv")
    }
    warm = {0.25: 29.178, 0.5: 28.347, 1.0: 26.749, 1.5: 25.285, 2.0: 24.003, 3.0: 22.068}
    for x, value in warm.items():
        assert heat[30.0, x] - 273.15 == pytest.approx(value, abs=1.5e-3)


def test_mould_tables_hold_the_worked_values():
    """20 °C, worked separately from Hukka & Viitanen 1999 and Ojanen et al. 2010."""
    wood = {row["rh"]: row for row in rows(CASES / "mould_index" / "wood.csv")}
    worked = {
        "90": (4.20, 7.73, 4.83, 8.21, 3.02, 3.99),
        "97": (1.48, 2.98, 1.71, 3.17, 1.07, 5.50),
    }
    worked["100"] = (0.97, 2.02, 1.12, 2.15, 0.70, 6.00)
    for rh, numbers in worked.items():
        found = [float(value) for key, value in wood[rh].items() if key != "rh"]
        np.testing.assert_allclose(found, numbers, atol=0.0051)  # half of the last digit
    classes = {row["class"]: row for row in rows(CASES / "mould_index" / "classes.csv")}
    weeks = {
        "very sensitive": (4.357, 5.504, 5.504, 5.504, 5.504),
        "sensitive": (1.373, 2.412, 3.430, 4.675, 4.676),
        "medium resistant": (0.194, 0.388, 0.581, 1.343, 2.745),
        "resistant": (0.087, 0.174, 0.261, 0.558, 1.028),
    }
    for name, numbers in weeks.items():
        found = [float(classes[name][f"m_{week}w"]) for week in (4, 8, 12, 26, 52)]
        np.testing.assert_allclose(found, numbers, atol=6e-4)  # half of the last digit


def test_decay_tables_hold_the_worked_values():
    """Worked separately from Viitanen et al. 2010 and Brischke & Rapp 2010 (from memory)."""
    rot = {(row["t"], row["rh"]): row for row in rows(CASES / "decay" / "brown_rot.csv")}
    for rh, days, loss in (("97.0", 24.0, 3.56), ("98.0", 17.9, 4.01), ("100.0", 9.2, 4.91)):
        row = rot["20.0", rh]
        assert float(row["days_to_activation"]) == pytest.approx(days, abs=0.051)
        assert float(row["loss_30d"]) == pytest.approx(loss, abs=0.0051)
    rating = {row["dose"]: row for row in rows(CASES / "decay" / "rating.csv")}["325.0"]
    assert float(rating["rating_2010"]) == pytest.approx(0.501, abs=6e-4)
    assert float(rating["rating_2016"]) == pytest.approx(0.473, abs=6e-4)
    dose = rows(CASES / "decay" / "dose.csv")[1]
    assert float(dose["dose_t"]) == pytest.approx(0.692, abs=6e-4)
    assert float(dose["dose_u"]) == pytest.approx(0.394, abs=6e-4)


def test_monthly_amounts_follow_from_the_single_plane_formula_by_hand():
    """G = δ0 [(p_i - p_c)/(s_T - s_c) - (p_c - p_e)/s_c] at the inner face of the brick."""
    data = case("monthly_method")
    resistance = [
        0.04,
        0.02 / 1.0,
        0.24 / 0.68,
        0.08 / 0.035,
        0.0125 / 0.25,
        0.13,
    ]
    inner, whole = 0.02 * 15 + 0.24 * 8, 0.02 * 15 + 0.24 * 8 + 0.08 + 0.0125 * 8
    for period, row in zip(
        data["period"], rows(CASES / "monthly_method" / "reference_periods.csv"), strict=False
    ):
        cold, warm = period["outside_temperature"], period["inside_temperature"]
        plane = cold + sum(resistance[:3]) / sum(resistance) * (warm - cold)
        saturation = reference_fv.saturation
        high = period["inside_humidity"] * saturation(warm)
        low = period["outside_humidity"] * saturation(cold)
        touch = saturation(plane)
        rate = 2e-10 * ((high - touch) / (whole - inner) - (touch - low) / inner)
        assert float(row["plane_sd"]) == pytest.approx(inner, abs=1e-4)
        assert float(row["rate"]) == pytest.approx(rate, rel=2e-6)  # seven digits written
        assert float(row["amount"]) == pytest.approx(rate * period["days"] * 86400.0, rel=2e-6)


def test_monthly_year_ends_dry_and_its_peak_is_in_march():
    found = rows(CASES / "monthly_method" / "reference_year.csv")
    mass = [float(row["accumulated"]) for row in found]
    assert found[int(np.argmax(mass))]["month"] == "3"
    assert mass[-1] == 0.0
    # the accumulated amount is the running sum of rate times the days of the month
    days = dict(enumerate(case("monthly_method")["year"]["days"], start=1))
    total = 0.0
    for row in found[:-1]:
        total += float(row["rate"]) * days[int(row["month"])] * 86400.0
        assert float(row["accumulated"]) == pytest.approx(total, abs=2e-6)  # digits written


def test_rerunning_a_script_gives_the_committed_numbers(tmp_path):
    """The cheap scripts, run again beside a copy of their case, reproduce their files."""
    for name in ("mould_index", "decay", "monthly_method"):
        for source in (CASES / name).glob("*"):
            if source.suffix in (".py", ".toml"):
                (tmp_path / source.name).write_text(source.read_text())
        path = tmp_path / "generate_reference.py"
        spec = importlib.util.spec_from_file_location(f"generate_{name}", path)
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        module.main()
        for target in (CASES / name).glob("*.csv"):
            assert (tmp_path / target.name).read_text() == target.read_text(), target


def test_load_tables_cover_their_cases():
    year = reference_case.read_table(CASES / "hamstad_1" / "loads.csv")
    assert year["hour"].size == 8761
    assert year["t_equivalent"][0] == pytest.approx(year["t_equivalent"][-1], abs=1e-9)
    days = reference_case.read_table(CASES / "hamstad_4" / "loads.csv")
    assert days["hour"][-1] * 3600.0 == case("hamstad_4")["case"]["duration"]
    assert days["rain"].max() > 0.0
