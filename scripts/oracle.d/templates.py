"""Computes results of the shipped worksheets apart from this project, with reference libraries.

Only the numbers typed in a worksheet are read from it; its formulas are not. What comes out is held
against the rows of tests/checks/templates/*.csv whose source begins with "computed apart"; with
--write those rows are written anew.
"""

import csv
import math
import re
import sys
from pathlib import Path

import numpy
import pint
import yaml
from fluids import friction_factor
from fluids.fittings import diffuser_conical, ft_Crane
from iapws import IAPWS97, _iapws
from iapws.iapws97 import _PSat_T
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

GRAVITY = 9.80665
SOURCE = "computed apart by scripts/oracle.d/templates.py with fluids 1.3.1, iapws 1.5.5, scipy 1.17.1"

units = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
SPELLED = [
    (r"kPa_abs", "kPa"), (r"psia", "psi"), (r"\^", "**"), (r"\blb\b", "pound"), (r"\bcfs\b", "ft**3/s"),
    (r"delta_degF", "delta_degF"), (r"\bdegC\b", "degC"), (r"%", "percent"),
]


def si(text):
    """A quantity as typed, as a number in SI."""
    if isinstance(text, (bool, int, float)):
        return text
    text = text.strip()
    found = re.match(r"^(-?[\d._]+)\s*(.*)$", text)
    if not found:
        return text
    number, unit = float(found[1].replace("_", "")), found[2]
    unit = re.sub(r"\bin\b", "inch", unit.replace("/ 1 ", "/ "))
    for ours, theirs in SPELLED:
        unit = re.sub(ours, theirs, unit)
    if not unit:
        return number
    return units.Quantity(number, unit).to_base_units().magnitude


class Typed:
    """What is typed in a worksheet: knowns and columns of tables, in SI."""

    def __init__(self, name):
        sheet = yaml.safe_load(Path(f"crates/sheet/templates/{name}.yaml").read_text())
        self.known, self.tables = {}, {}
        for part in sheet["parts"]:
            for key, value in part.get("known", {}).items():
                value = value["is"] if isinstance(value, dict) else value
                self.known[key] = [si(v) for v in value] if isinstance(value, list) else si(value)
            for key, table in part.get("tables", {}).items():
                columns = list(table["columns"].items())
                self.tables[key] = {
                    column: [row[at] if unit == "text" else si(f"{row[at]} {'' if unit in (1, '1') else unit}")
                             for row in table["rows"]]
                    for at, (column, unit) in enumerate(columns)
                }

    def __getattr__(self, name):
        return self.known[name] if name in self.known else self.tables[name]


def density(kelvin):
    return IAPWS97(T=kelvin, P=0.101325).rho


def viscosity(kelvin):
    rho = density(kelvin)
    return _iapws._Viscosity(rho, kelvin) / rho


def boiling(kelvin):
    return _PSat_T(kelvin) * 1e6


def air(height):
    return 101325 * (1 - 0.0065 * height / 288.15) ** 5.25588


def area(bore):
    return math.pi / 4 * bore**2


def velocity_head(velocity):
    return velocity**2 / (2 * GRAVITY)


def collapse(outside, wall, modulus, poisson):
    return 2 * modulus / (1 - poisson**2) * (wall / (outside - wall)) ** 3


def out_of_round(share):
    return ((1 - share) / (1 + share) ** 2) ** 3


CRANE = {"bend": 14, "butterfly_valve": 45}


def losses(line, flow, roughness, kelvin):
    """Of each piece: what stands at its beginning, and its friction."""
    found = []
    for bore, length, loss, fittings in zip(line["bore"], line["length"], line["loss"], line["fittings"]):
        velocity = flow / area(bore)
        factor = friction_factor(velocity * bore / viscosity(kelvin), roughness / bore, Method="Colebrook")
        words = [word.strip() for word in fittings.split("+") if word.strip()]
        coefficient = loss + sum(0.04 if w == "bellmouth" else CRANE[w] * ft_Crane(bore) for w in words)
        found.append((coefficient * velocity_head(velocity), factor * length / bore * velocity_head(velocity)))
    return found


def siphon_line():
    t = Typed("siphon-line")
    line, outside = t.line, air(t.altitude) - t.weather_allowance
    lost = losses(line, t.flow, t.roughness, t.water)
    crest = t.mouth_level + sum(line["rise"][:2])
    bore = line["bore"][1]
    velocity = t.flow / area(bore)
    # The lowest place: the far end of the crest, with what the next bend takes already off.
    before = sum(a + b for a, b in lost[:2]) + lost[2][0]
    lowest = outside - density(t.water) * GRAVITY * (
        crest + bore / 2 - t.pond_level + velocity_head(velocity) + before)
    yield "line_head_loss", sum(a + b for a, b in lost), "m", 2e-3
    yield "lowest_pressure", lowest / 1000, "kPa_abs", 1e-3
    volume = sum(area(b) * length for b, length in zip(line["bore"], line["length"]))
    yield "air_to_draw", volume, "m^3", 1e-6
    leak = volume * t.leak_rise / outside / t.leak_time
    yield "leak", leak * 3600, "m^3/h", 1e-4
    yield "lasting_collapse", out_of_round(t.ovality) * collapse(
        t.outside_diameter, t.wall, t.lasting_modulus, t.poisson_ratio) / 1000, "kPa", 1e-6

    # Priming: isothermal air, a pump that fades towards its end vacuum, water rising in the leg.
    slant = area(bore) * line["length"][0] / line["rise"][0]
    under = slant * (t.pond_level - t.mouth_level)
    rise = crest + bore / 2 - t.pond_level
    start = volume - under
    def pump(p):
        return t.pump_flow * (p - t.pump_end_pressure) / (outside - t.pump_end_pressure)
    def space(p):
        return start - slant * (outside - p) / (1000 * GRAVITY)
    def falling(_, state):
        p = state[0]
        # d(p V)/dt = V dp/dt + p dV/dt, and dV/dp is the leg's share.
        shrink = slant / (1000 * GRAVITY)
        return [(-p * pump(p) + outside * leak) / (space(p) + p * shrink)]
    at_crest = outside - 1000 * GRAVITY * rise
    def over(_, state):
        return state[0] - at_crest
    over.terminal = True
    run = solve_ivp(falling, (0, 1e5), [outside], events=over, rtol=1e-9, atol=1e-3)
    rest = space(at_crest)
    drawn = at_crest * rest / (at_crest * pump(at_crest) - outside * leak)
    yield "priming_time", (run.t_events[0][0] + drawn) / 60, "min", 0.01


def turbine_and_draft_tube():
    t = Typed("turbine-and-draft-tube")
    gross = t.pond_level - t.tail_level - t.intake_loss
    def left(flow):
        lost = sum(a + b for a, b in losses(t.line, flow, t.roughness, t.water))
        return gross - lost - velocity_head(flow / area(t.tube_mouth)) \
            - t.design_head * (flow / t.design_flow) ** 2
    flow = brentq(left, 0.01, 1)
    head = t.design_head * (flow / t.design_flow) ** 2
    share, points = flow / t.design_flow, list(zip(t.runner["share"], t.runner["efficiency"]))
    (x0, y0), (x1, y1) = next(pair for pair in zip(points, points[1:]) if pair[0][0] <= share <= pair[1][0])
    power = 1000 * GRAVITY * flow * head * (y0 + (y1 - y0) * (share - x0) / (x1 - x0))
    yield "flow", flow * 1000, "L/s", 1e-3
    yield "shaft_power", power / 1000, "kW", 2e-3
    fast, slow = flow / area(t.runner_bore), flow / area(t.tube_mouth)
    angle = 2 * math.degrees(math.atan((t.tube_mouth - t.runner_bore) / 2 / t.tube_length))
    loss = diffuser_conical(Di1=t.runner_bore, Di2=t.tube_mouth, angle=angle, method="Crane")
    suction = t.runner_level - t.tail_low + velocity_head(fast) - velocity_head(slow) - loss * velocity_head(fast)
    outside = air(t.altitude) - t.weather_allowance
    yield "pressure_under_runner", (outside - density(t.water) * GRAVITY * suction) / 1000, "kPa_abs", 1e-3
    speed = t.speed * 60 / (2 * math.pi)
    specific = speed * math.sqrt(power / 1000) / head**1.25
    thoma = t.safety_on_thoma * max(6.40e-5 * specific**1.46, 0.28 + (specific / 380.78) ** 3 / 7.5)
    limit = (air(t.altitude) - boiling(t.water)) / density(t.water) / GRAVITY - thoma * head \
        - t.weather_allowance / 1000 / GRAVITY
    yield "highest_setting", limit, "m", 1e-3


def pipe_safety():
    t = Typed("pipe-safety")
    bore = t.outside_diameter - 2 * t.wall
    velocity = t.flow / area(bore)
    wave = math.sqrt(t.water_modulus / 1000) / math.sqrt(
        1 + t.restraint * t.water_modulus * bore / t.short_modulus / t.wall)
    rest = density(t.water) * GRAVITY * t.head
    slam = rest + 1000 * wave * velocity
    psi = 6894.757293168361
    yield "pressure_of_slam", slam / psi, "psi", 1e-4
    yield "surge_while_closing", 2 * t.length * velocity / GRAVITY / t.closing_time, "m", 1e-4
    def left(flow):
        v = flow / area(bore)
        factor = friction_factor(v * bore / viscosity(t.water), t.roughness / bore, Method="Colebrook")
        return t.head - (factor * t.length / bore + t.burst_coefficient) * velocity_head(v)
    yield "burst_flow", brentq(left, 0.01, 10) * 1000, "L/s", 2e-3
    # Bends at the greater of test and slam.
    def thrust(angle, depth):
        head = max(t.test_factor * depth, depth + wave * velocity / GRAVITY)
        return 2 * (1000 * GRAVITY * head * area(bore) + 1000 * t.flow**2 / area(bore)) * math.sin(angle / 2)
    worst = max(thrust(a, d) for a, d in zip(t.bends["angle"], t.bends["below_pond"]))
    yield "worst_thrust", worst, "N", 1e-3
    weight = GRAVITY * (t.pipe_density * (area(t.outside_diameter) - area(bore)) + 1000 * area(bore))
    inertia = math.pi / 64 * (t.outside_diameter**4 - bore**4)
    by_stress = math.sqrt(12 * t.bending_allowed * 2 * inertia / t.outside_diameter / weight)
    by_sag = (384 * t.lasting_modulus * inertia * t.sag_allowed / weight) ** 0.25
    yield "span_allowed", min(by_stress, by_sag), "m", 1e-4


def pond_dry_season():
    t = Typed("pond-dry-season")
    levels, areas = t.pond["level"], t.pond["area"]
    # The solver's trial steps may leave the table; its results do not.
    def surface(z):
        return numpy.interp(z, levels, areas)
    dried = t.evaporation * surface(t.restart_level)
    inflows = [max(q - t.leak - dried, 0) for q in t.weeks["inflow"]]
    # Hour by hour over the summer, between events: the set runs or stands.
    level, running, shares, starts = t.start_level, True, [], []
    for inflow in inflows:
        left, ran, started = 7 * 86400.0, 0.0, 0
        while left > 1e-6:
            rate = inflow - t.residual_flow - (t.turbine_flow if running else 0)
            edge = t.least_level if running else t.restart_level
            def fall(_, z):
                return [rate / surface(z[0])]
            def met(_, z, edge=edge):
                return z[0] - edge
            met.terminal, met.direction = True, (-1 if running else 1)
            run = solve_ivp(fall, (0, left), [level], events=met, rtol=1e-9, atol=1e-9, max_step=1800)
            took = run.t[-1]
            ran += took if running else 0
            level, left = run.y[0][-1], left - took
            if run.status == 1:
                running = not running
                started += running
        shares.append(ran / 7 / 86400)
        starts.append(started)
    yield "share_of_time", 100 * sum(shares) / len(shares), "%", 2e-3
    yield "most_starts_a_day", max(starts) / 7, "", 1e-6
    head = (t.restart_level + t.least_level) / 2 - t.tail_level
    power = 1000 * GRAVITY * t.turbine_flow * head * t.efficiency
    energy = sum(power * (s * 7 * 86400 - n * t.start_loss) for s, n in zip(shares, starts))
    yield "season_energy", energy / 3.6e6, "kWh", 2e-3


def start_stop_loss_of_grid():
    t = Typed("start-stop-loss-of-grid")
    inertia = t.set_inertia + t.flywheel_weight * t.flywheel_diameter**2 / 8
    wild = t.runaway_ratio * t.speed
    torque = t.power / t.speed
    def climb(_, speed):
        return [torque * (wild - speed[0]) / (wild - t.speed) / inertia]
    def trips(_, speed):
        return speed[0] - t.trip_speed
    trips.terminal = True
    run = solve_ivp(climb, (0, 100), [t.speed], events=trips, rtol=1e-10, atol=1e-9)
    yield "time_to_trip_speed", run.t_events[0][0], "s", 1e-4
    ohms = t.dump_resistance + 2 * t.phase_resistance
    def balance(speed):
        volts = 3 * math.sqrt(2) / math.pi * t.emf_constant * speed
        return torque * (wild - speed) / (wild - t.speed) * speed - volts**2 / ohms
    yield "speed_on_dump", brentq(balance, 10, wild) * 60 / (2 * math.pi), "rpm", 1e-4
    # While the valve closes, the power falls evenly; the head it adds raises it.
    rise = 2 * t.line_length * t.velocity / GRAVITY / t.closing_time / t.net_head
    at_trip = torque * (wild - t.trip_speed) / (wild - t.speed) * t.trip_speed
    energy = at_trip * (1 + rise) ** 1.5 * t.closing_time / 2
    fastest = math.sqrt(t.trip_speed**2 + 2 * energy / inertia)
    yield "speed_while_closing_valve", fastest * 60 / (2 * math.pi), "rpm", 1e-4


SHEETS = {
    "siphon-line": siphon_line,
    "turbine-and-draft-tube": turbine_and_draft_tube,
    "pipe-safety": pipe_safety,
    "pond-dry-season": pond_dry_season,
    "start-stop-loss-of-grid": start_stop_loss_of_grid,
}


def main(folder, write):
    off = 0
    for name, compute in SHEETS.items():
        path = Path(folder) / f"{name}.csv"
        with path.open(newline="") as file:
            rows = list(csv.reader(file)) if path.exists() else []
        kept = [row for row in rows if not row[4].startswith("computed apart")]
        there = {row[1]: row for row in rows if row[4].startswith("computed apart")}
        new = []
        for cell, value, unit, tolerance in compute():
            new.append(["", cell, f"{value:.7g} {unit}".strip(), f"{tolerance:g}", SOURCE])
            committed = there.get(cell)
            if committed and committed[2] != new[-1][2]:
                off += 1
                print(f"{name}: {cell} is {new[-1][2]}, committed {committed[2]}")
            if not committed and not write:
                off += 1
                print(f"{name}: {cell} is not committed")
        if write:
            with path.open("w", newline="") as file:
                csv.writer(file, lineterminator="\n").writerows(kept + new)
        print(f"{name}: {len(new)} results computed apart")
    return 1 if off and not write else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], "--write" in sys.argv))
