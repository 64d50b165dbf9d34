"""Computes check values anew from reference libraries and compares them with the committed ones.

Every row whose `how_obtained` names a library has a function here; rows without one fail the run.
"""

import csv
import math
import sys
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal
from pathlib import Path

import fluids
import numpy
import numpy_financial
import pint
import uncertainties
from fluids.fittings import (
    bend_rounded,
    contraction_sharp,
    diffuser_conical,
    diffuser_sharp,
    entrance_rounded,
    entrance_sharp,
    exit_normal,
    K_gate_valve_Crane,
    K_swing_check_valve_Crane,
)
from iapws import IAPWS95, IAPWS97, _iapws
from iapws.iapws97 import _PSat_T

GRAVITY = 9.80665
AIR = 0.101325  # MPa
VALUES = {}


def row(*ids):
    """Registers what regenerates a row; the row's id is passed on where there are several."""

    def register(function):
        for one in ids:
            VALUES[one] = function if len(ids) == 1 else (lambda one=one: function(one))
        return function

    return register


# Units.

units = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


def unit_row(name, source, target):
    VALUES[name] = lambda: units.Quantity(1, source).to(target).magnitude


unit_row("U001", "foot", "metre")
unit_row("U002", "inch", "millimetre")
unit_row("U003", "gallon", "litre")
unit_row("U005", "gallon / minute", "metre ** 3 / second")
unit_row("U006", "foot ** 3 / second", "metre ** 3 / second")
unit_row("U009", "inch_Hg", "pascal")
unit_row("U011", "foot_H2O", "pascal")
unit_row("U015", "electrical_horsepower", "watt")
unit_row("U016", "Btu_it", "joule")
unit_row("U018", "kilowatt_hour", "megajoule")
unit_row("U032", "circular_mil", "millimetre ** 2")
VALUES["U008"] = lambda: fluids.constants.psi
VALUES["U013"] = lambda: fluids.constants.hp
VALUES["U024"] = lambda: units.Quantity(60, "degF").to("degC").magnitude

# Water.

TEMPERATURES = {
    "W001": 4, "W002": 10, "W004": 20, "W006": 30, "W012": 10, "W013": 20, "W015": 40,
    "W021": 10, "W023": 20, "W032": 5, "W033": 10, "W034": 20, "W036": 30,
}  # fmt: skip


def water(celsius):
    return IAPWS95(T=celsius + 273.15, P=AIR)


@row("W001", "W002", "W004", "W006")
def density(name):
    from CoolProp.CoolProp import PropsSI

    kelvin = TEMPERATURES[name] + 273.15
    value = water(TEMPERATURES[name]).rho
    other = PropsSI("D", "T", kelvin, "P", AIR * 1e6, "Water")
    assert abs(other / value - 1) < 1e-9, f"{name}: CoolProp has {other}"
    return value


@row("W012", "W013", "W015")
def viscosity(name):
    state = water(TEMPERATURES[name])
    return _iapws._Viscosity(state.rho, TEMPERATURES[name] + 273.15)


@row("W021", "W023")
def kinematic_viscosity(name):
    state = water(TEMPERATURES[name])
    return _iapws._Viscosity(state.rho, TEMPERATURES[name] + 273.15) / state.rho


@row("W032", "W033", "W034", "W036")
def vapour_pressure(name):
    return _PSat_T(TEMPERATURES[name] + 273.15) * 1e6


VALUES["W041"] = lambda: _PSat_T(293.15) * 1e6 / (water(20).rho * GRAVITY)
VALUES["W042"] = lambda: water(20).w
VALUES["W043"] = lambda: water(20).rho * water(20).w ** 2

# Weirs.

VALUES["F019"] = lambda: fluids.open_flow.Q_weir_rectangular_full_Kindsvater_Carter(h1=0.3, h2=0.4, b=2)
VALUES["F020"] = lambda: fluids.open_flow.Q_weir_rectangular_full_Rehbock(h1=0.3, h2=0.4, b=2)

# Pipes.

VALUES["P001"] = lambda: fluids.friction.Colebrook(Re=1e5, eD=1e-4)
VALUES["P002"] = lambda: fluids.friction.Swamee_Jain_1976(Re=1e5, eD=1e-4)
VALUES["P003"] = lambda: fluids.friction.Haaland(Re=1e5, eD=1e-4)
VALUES["P006"] = lambda: fluids.friction.friction_laminar(1500)
VALUES["P007"] = lambda: fluids.friction.Colebrook(Re=5e4, eD=0)


def pipe_loss(bore, flow, length, roughness, celsius):
    state = water(celsius)
    velocity = flow / (math.pi / 4 * bore**2)
    kinematic = _iapws._Viscosity(state.rho, celsius + 273.15) / state.rho
    factor = fluids.friction.Colebrook(Re=velocity * bore / kinematic, eD=roughness / bore)
    return factor * length / bore * velocity**2 / (2 * GRAVITY)


VALUES["P015"] = lambda: pipe_loss(0.1023, 0.010, 50, 1.5e-6, 10)
VALUES["P016"] = lambda: pipe_loss(0.30, 0.12, 18, 1.5e-6, 15)
VALUES["P022"] = lambda: diffuser_sharp(Di1=0.06, Di2=0.09)
VALUES["P030"] = lambda: entrance_sharp()
VALUES["P031"] = lambda: entrance_rounded(Di=0.1, rc=0.015, method="Crane")
VALUES["P032"] = exit_normal
VALUES["P033"] = lambda: bend_rounded(Di=0.1, angle=90, bend_diameters=1.5, method="Crane")
VALUES["P036"] = lambda: contraction_sharp(Di1=0.2, Di2=0.1, method="Crane")
VALUES["P037"] = lambda: K_gate_valve_Crane(D1=0.1, D2=0.1, angle=0)
VALUES["P039"] = lambda: K_swing_check_valve_Crane(D=0.1, angled=False)
VALUES["P041"] = lambda: fluids.friction.ft_Crane(0.1)
VALUES["P045"] = lambda: diffuser_conical(Di1=0.2, Di2=0.3, angle=6, method="Crane")
SIZES = {"P050": (2, "40"), "P051": (3, "40"), "P052": (4, "40"), "P054": (8, "40"), "P056": (4, "80")}


@row("P050", "P051", "P052", "P054", "P056")
def nominal_bore(name):
    size, schedule = SIZES[name]
    return fluids.nearest_pipe(NPS=size, schedule=schedule)[1] / 0.0254


# Hydrology.


def exceeded(flows, share):
    """Weibull m/(n+1), straight between places."""
    ordered = numpy.sort(numpy.asarray(flows))[::-1]
    places = numpy.arange(1, len(ordered) + 1) / (len(ordered) + 1)
    return float(numpy.interp(share, places, ordered))


def nile():
    from statsmodels.datasets import nile as dataset

    return dataset.load_pandas().data["volume"]


VALUES["H001"] = lambda: float(nile().mean())
VALUES["H002"] = lambda: exceeded(nile(), 0.50)
SHARES = {"H006": 0.1, "H007": 0.3, "H008": 0.5, "H010": 0.9}
FETCHED = Path(sys.argv[2]) / "us_09447000.csv"


def daily():
    with FETCHED.open(newline="") as read:
        return numpy.array([float(line["flow"]) for line in csv.DictReader(read) if line["flow"]])


@row("H006", "H007", "H008", "H010")
def daily_exceeded(name):
    return exceeded(daily(), SHARES[name])


def turbined():
    flow = numpy.clip(daily() - 0.20, 0, 0.60)
    return numpy.where(flow < 0.15, 0, flow).mean()


VALUES["H012"] = lambda: daily().mean()
VALUES["H014"] = turbined
VALUES["H015"] = lambda: turbined() / 0.60

# Money.

EQUAL_YEARS = [-100_000] + [30_000] * 5
VALUES["M001"] = lambda: -numpy_financial.pmt(0.18, 15, 1_000_000)
VALUES["M003"] = lambda: -numpy_financial.pmt(0.18, 15, 0, 500_000)
VALUES["M004"] = lambda: -numpy_financial.pv(0.15, 20, 1_000_000)
VALUES["M006"] = lambda: 10e6 / (-numpy_financial.pmt(0.12, 50, 80e6) + 3e6 - 6e6)
VALUES["M008"] = lambda: 100 * numpy_financial.irr(EQUAL_YEARS)
VALUES["M010"] = lambda: numpy_financial.npv(0.10, EQUAL_YEARS)
VALUES["M016"] = lambda: (-numpy_financial.pmt(0.06, 20, 12_000) + 300) / 9000
VALUES["M027"] = lambda: numpy_financial.npv(0.05, [-8000] + [1000 * 1.02**year for year in range(15)])
AMOUNTS = {"M021": "2.675", "M022": "2.665", "M023": "0.125"}


@row("M021", "M022", "M023")
def half_even(name):
    return float(Decimal(AMOUNTS[name]).quantize(Decimal("0.01"), ROUND_HALF_EVEN))


VALUES["M026"] = lambda: float(Decimal("2.665").quantize(Decimal("0.01"), ROUND_HALF_UP))

# Uncertainty.


def end_gauge():
    """JCGM 100:2008 H.1, its inputs from the annex."""
    import GTC

    comparator = GTC.ureal(215, math.sqrt(5.8**2 + 3.9**2 + 6.7**2), 25.6)
    standard = GTC.ureal(50_000_623, 25, 18)
    mean_away = GTC.ureal(-0.1, 0.2)
    cycle = GTC.ureal(0, 0.35)
    expansion = GTC.ureal(11.5e-6, 2e-6 / math.sqrt(3))
    expansions_apart = GTC.ureal(0, 1e-6 / math.sqrt(3), 50)
    temperatures_apart = GTC.ureal(0, 0.05 / math.sqrt(3), 2)
    away = mean_away + cycle
    return standard + comparator - standard * (expansions_apart * away + expansion * temperatures_apart)


VALUES["X001"] = lambda: end_gauge().x - 50_000_000
VALUES["X002"] = lambda: end_gauge().u
VALUES["X003"] = lambda: math.floor(end_gauge().df)


def four_rectangulars():
    random = numpy.random.default_rng(20_080_924)
    total = numpy.zeros(4_000_000)
    for uncertainty in (1, 1, 1, 10):
        half = math.sqrt(3) * uncertainty
        total += random.uniform(-half, half, total.size)
    low, high = numpy.quantile(total, [0.025, 0.975])
    return (high - low) / 2


VALUES["X010"] = four_rectangulars


def product():
    flow, head, efficiency = (uncertainties.ufloat(1, u) for u in (0.05, 0.01, 0.04))
    return 100 * (flow * head * efficiency).std_dev


def notch():
    head = uncertainties.ufloat(0.15, 0.001)
    coefficient = uncertainties.ufloat(1, 0.01)
    flow = coefficient * head**2.5
    return 100 * flow.std_dev / flow.nominal_value


VALUES["X012"] = product
VALUES["X013"] = notch


def main(table):
    print(f"{'id':<6}{'committed':>22}{'regenerated':>24}{'off':>10}  ok")
    bad = count = 0
    with open(table, newline="") as read:
        for line in csv.DictReader(read):
            name = line["id"]
            if name not in VALUES:
                if "library" in line["how_obtained"]:
                    print(f"{name:<6}  nothing here regenerates it")
                    bad += 1
                continue
            committed, allowed = float(line["expected"]), float(line["rel_tolerance"])
            value = float(VALUES[name]())
            off = abs(value - committed) / abs(committed)
            # The last bits of a float are not in the printed decimals.
            ok = off <= max(allowed, 1e-14)
            bad += not ok
            count += 1
            print(f"{name:<6}{line['expected']:>22}{value:>24.15g}{off:>10.1e}  {'ok' if ok else 'NO'}")
    print(f"{count} rows regenerated, {bad} in disagreement")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
