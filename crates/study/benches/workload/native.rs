//! The plant written by hand, as an engineer would who needs this one computation and no other.

use std::f64::consts::PI;

const G: f64 = 9.806_65;

/// What is known, in coherent SI.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Known {
    pub(crate) pond_level: f64,
    pub(crate) tail_level: f64,
    pub(crate) crest_level: f64,
    pub(crate) bore: f64,
    pub(crate) length: f64,
    pub(crate) crest_length: f64,
    pub(crate) roughness: f64,
    pub(crate) nu: f64,
    pub(crate) density: f64,
    pub(crate) bend_loss: f64,
    pub(crate) inlet_loss: f64,
    pub(crate) valve_loss: f64,
    pub(crate) exit_loss: f64,
    pub(crate) rack_bar: f64,
    pub(crate) rack_gap: f64,
    pub(crate) rack_width: f64,
    pub(crate) rack_depth: f64,
    pub(crate) outside_pressure: f64,
    pub(crate) vapour: f64,
    pub(crate) runner_efficiency: f64,
    pub(crate) gear_efficiency: f64,
    pub(crate) generator_efficiency: f64,
    pub(crate) rectifier_drop: f64,
    pub(crate) bus_voltage: f64,
    pub(crate) inverter_efficiency: f64,
    pub(crate) cable_length: f64,
    pub(crate) cable_area: f64,
    pub(crate) resistivity: f64,
    pub(crate) standby: f64,
    pub(crate) hours: f64,
    pub(crate) least_flow: f64,
}

/// The plant as the worksheet has it.
pub(crate) const PLANT: Known = Known {
    pond_level: 24.6,
    tail_level: 19.9,
    crest_level: 26.1,
    bore: 0.3,
    length: 42.0,
    crest_length: 9.0,
    roughness: 0.05e-3,
    nu: 1.3e-6,
    density: 999.7,
    bend_loss: 0.9,
    inlet_loss: 0.25,
    valve_loss: 0.3,
    exit_loss: 1.0,
    rack_bar: 8e-3,
    rack_gap: 20e-3,
    rack_width: 1.4,
    rack_depth: 0.7,
    outside_pressure: 98.2e3,
    vapour: 1.1e3,
    runner_efficiency: 0.78,
    gear_efficiency: 0.97,
    generator_efficiency: 0.84,
    rectifier_drop: 2.1,
    bus_voltage: 190.0,
    inverter_efficiency: 0.94,
    cable_length: 85.0,
    cable_area: 6e-6,
    resistivity: 1.9e-8,
    standby: 14.0,
    hours: 5200.0 * 3600.0,
    least_flow: 12e-3,
};

/// What is worked out and how the checks stand.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Worked {
    pub(crate) gross_head: f64,
    pub(crate) pipe_area: f64,
    pub(crate) losses: f64,
    pub(crate) rack_open: f64,
    pub(crate) head_left: f64,
    pub(crate) flow: f64,
    pub(crate) velocity: f64,
    pub(crate) reynolds: f64,
    pub(crate) factor: f64,
    pub(crate) friction: f64,
    pub(crate) minor: f64,
    pub(crate) velocity_head: f64,
    pub(crate) rack_velocity: f64,
    pub(crate) rack_loss: f64,
    pub(crate) net_head: f64,
    pub(crate) crest_rise: f64,
    pub(crate) crest_friction: f64,
    pub(crate) crest_losses: f64,
    pub(crate) crest_suction: f64,
    pub(crate) crest_pressure: f64,
    pub(crate) crest_margin: f64,
    pub(crate) submerged: f64,
    pub(crate) hydraulic: f64,
    pub(crate) shaft: f64,
    pub(crate) after_gear: f64,
    pub(crate) electrical: f64,
    pub(crate) bus_current: f64,
    pub(crate) lost_in_rectifier: f64,
    pub(crate) cable_resistance: f64,
    pub(crate) cable_current: f64,
    pub(crate) lost_in_cable: f64,
    pub(crate) cable_drop: f64,
    pub(crate) drop_share: f64,
    pub(crate) inverter_input: f64,
    pub(crate) inverter_output: f64,
    pub(crate) net_power: f64,
    pub(crate) efficiency: f64,
    pub(crate) yearly: f64,
    pub(crate) specific_energy: f64,
    pub(crate) swing: f64,
    pub(crate) wetted: f64,
    pub(crate) checks: [bool; 7],
}

/// The plant for one row of knowns.
pub(crate) fn plant(k: &Known) -> Worked {
    let gross_head = k.pond_level - k.tail_level;
    let pipe_area = PI * k.bore * k.bore / 4.0;
    let losses = k.bend_loss + k.inlet_loss + k.valve_loss + k.exit_loss;
    let rack_open = k.rack_width * k.rack_depth * k.rack_gap / (k.rack_gap + k.rack_bar);
    let head_left = 0.62 * gross_head;
    let lost = |q: f64| {
        let v = q / pipe_area;
        let f = friction_factor(v * k.bore / k.nu, k.roughness / k.bore);
        (f * k.length / k.bore + losses) * v * v / (2.0 * G)
    };
    let flow = zero(|q| gross_head - head_left - lost(q), 1e-3, 0.9).unwrap_or(f64::NAN);
    let velocity = flow / pipe_area;
    let reynolds = velocity * k.bore / k.nu;
    let factor = friction_factor(reynolds, k.roughness / k.bore);
    let velocity_head = velocity * velocity / (2.0 * G);
    let friction = factor * k.length / k.bore * velocity_head;
    let minor = losses * velocity_head;
    let rack_velocity = flow / rack_open;
    let rack_loss = 1.2 * rack_velocity * rack_velocity / (2.0 * G);
    let net_head = gross_head - friction - minor - rack_loss;
    let crest_rise = k.crest_level - k.pond_level;
    let crest_friction = factor * k.crest_length / k.bore * velocity_head;
    let crest_losses = (k.inlet_loss + k.bend_loss / 2.0) * velocity_head;
    let crest_suction =
        k.density * G * (crest_rise + velocity_head + crest_friction + crest_losses);
    let crest_pressure = k.outside_pressure - crest_suction;
    let crest_margin = crest_pressure - k.vapour;
    let submerged = k.crest_level - k.bore / 2.0 - k.tail_level;
    let hydraulic = k.density * G * flow * net_head;
    let shaft = hydraulic * k.runner_efficiency;
    let after_gear = shaft * k.gear_efficiency;
    let electrical = after_gear * k.generator_efficiency;
    let bus_current = electrical / k.bus_voltage;
    let lost_in_rectifier = bus_current * k.rectifier_drop;
    let cable_resistance = 2.0 * k.resistivity * k.cable_length / k.cable_area;
    let cable_current = (electrical - lost_in_rectifier) / k.bus_voltage;
    let lost_in_cable = cable_current * cable_current * cable_resistance;
    let cable_drop = cable_current * cable_resistance;
    let drop_share = cable_drop / k.bus_voltage;
    let inverter_input = electrical - lost_in_rectifier - lost_in_cable;
    let inverter_output = inverter_input * k.inverter_efficiency;
    let net_power = (inverter_output - k.standby).max(0.0);
    let efficiency = net_power / (k.density * G * flow * gross_head);
    let yearly = net_power * k.hours;
    let specific_energy = net_power / flow;
    let swing = (net_head / gross_head).sqrt();
    let wetted = if flow > k.least_flow { flow - k.least_flow } else { 0.0 };
    let checks = [
        velocity > 0.8,
        velocity < 4.0,
        crest_margin > 20e3,
        rack_velocity < 0.5,
        drop_share < 0.08,
        net_head > 1.0 && net_head < gross_head,
        net_power > 200.0,
    ];
    Worked {
        gross_head,
        pipe_area,
        losses,
        rack_open,
        head_left,
        flow,
        velocity,
        reynolds,
        factor,
        friction,
        minor,
        velocity_head,
        rack_velocity,
        rack_loss,
        net_head,
        crest_rise,
        crest_friction,
        crest_losses,
        crest_suction,
        crest_pressure,
        crest_margin,
        submerged,
        hydraulic,
        shaft,
        after_gear,
        electrical,
        bus_current,
        lost_in_rectifier,
        cable_resistance,
        cable_current,
        lost_in_cable,
        cable_drop,
        drop_share,
        inverter_input,
        inverter_output,
        net_power,
        efficiency,
        yearly,
        specific_energy,
        swing,
        wetted,
        checks,
    }
}

/// Colebrook and White by Newton's method on 1/√f, until it stands still.
fn friction_factor(re: f64, rel: f64) -> f64 {
    if re <= 2000.0 {
        return 64.0 / re;
    }
    let turbulent = |re: f64| {
        let (a, b) = (rel / 3.7, 2.51 / re);
        let mut x = -2.0 * (a + 7.0 * b).log10();
        for _ in 0..20 {
            let inside = a + b * x;
            let step =
                (x + 2.0 * inside.log10()) / (1.0 + 2.0 / std::f64::consts::LN_10 * b / inside);
            x -= step;
            if step.abs() <= 1e-12 * x {
                break;
            }
        }
        1.0 / (x * x)
    };
    if re >= 4000.0 {
        return turbulent(re);
    }
    let (below, above) = (0.032, turbulent(4000.0));
    below + (above - below) * (re - 2000.0) / 2000.0
}

/// Chandrupatla's method, to the last digits.
fn zero(f: impl Fn(f64) -> f64, from: f64, to: f64) -> Option<f64> {
    let (mut a, mut b) = (from, to);
    let (mut fa, mut fb) = (f(a), f(b));
    if fa == 0.0 {
        return Some(a);
    }
    if fb == 0.0 {
        return Some(b);
    }
    if (fa < 0.0) == (fb < 0.0) {
        return None;
    }
    let mut t = 0.5;
    for _ in 0..200 {
        let x = a + t * (b - a);
        let fx = f(x);
        let (c, fc);
        if (fx < 0.0) == (fa < 0.0) {
            (c, fc) = (a, fa);
        } else {
            (c, fc) = (b, fb);
            (b, fb) = (a, fa);
        }
        (a, fa) = (x, fx);
        let (best, at_best) = if fa.abs() < fb.abs() { (a, fa) } else { (b, fb) };
        let least = (2.0 * f64::EPSILON * best.abs() + f64::MIN_POSITIVE) / (b - a).abs();
        if at_best == 0.0 || least > 0.5 {
            return Some(best);
        }
        let xi = (a - b) / (c - b);
        let phi = (fa - fb) / (fc - fb);
        t = if phi * phi < xi && (1.0 - phi) * (1.0 - phi) < 1.0 - xi {
            fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
        } else {
            0.5
        };
        t = t.clamp(least, 1.0 - least);
    }
    None
}
