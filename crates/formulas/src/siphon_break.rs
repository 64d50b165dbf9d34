//! Stopping a siphon by letting air in: what a valve passes, and how long until the flow stops.

use forebay_units::Dimension;

use crate::formula::{Argument, Body, Check, Formula, Output, Parameter, Refusal, Source, Subject};
use crate::line_pieces::numbers;
use crate::pipes::circle_area;
use crate::sources::{CENGEL, VACUUM};
use crate::usual::{DENSITY, GRAVITY, ZERO_CELSIUS};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "siphon_break",
    about: "Stopping a siphon by letting air in: what a valve passes, and how long until the flow \
            stops.",
    formulas: FORMULAS,
};

/// Gas constant of dry air, J/(kg K): ISO 2533.
const R_AIR: f64 = 287.052_87;
/// Ratio of its specific heats.
const GAMMA: f64 = 1.4;

const HIDDEN: Option<&str> = Some("metre, second and kelvin: the gas constant of air");

const BORE: Parameter = Parameter::new(
    "valve_bore",
    Dimension::LENGTH,
    "bore of the narrowest place of valve and pipe, fully open",
)
.positive();

const OUTSIDE: Parameter = Parameter::new(
    "outside_pressure",
    Dimension::PRESSURE,
    "absolute pressure of the air: atmospheric_pressure of the altitude; 101.325 kPa unless given",
)
.positive()
.or(101_325.0);

const AIR_TEMPERATURE: Parameter =
    Parameter::new("air_temperature", Dimension::TEMPERATURE, "of the air outside")
        .positive()
        .valid(ZERO_CELSIUS - 30.0, ZERO_CELSIUS + 45.0)
        .or(ZERO_CELSIUS + 15.0);

const COEFFICIENT: Parameter = Parameter::new(
    "coefficient",
    Dimension::NONE,
    "of discharge: 0.6 for a sharp edge, 0.8 to 0.95 for a rounded one; a valve with its pipe may \
     have 0.3 to 0.5 (common practice, no source)",
)
.within(0.0, 1.0)
.valid(0.3, 1.0)
.or(0.6);

static FORMULAS: &[Formula] = &[
    Formula {
        name: "air_valve_flow",
        summary: "Air that an opening lets into a pipe under vacuum, as a volume flow at the \
                  outside pressure; choked below 0.528 of it.",
        equation: "Q = C A √(R T) ψ; ψ = √(2γ/(γ−1) (r^(2/γ) − r^((γ+1)/γ))), r = p/p_out; below \
                   r = 0.528: ψ = 0.6847",
        parameters: &[
            BORE,
            Parameter::new("pressure", Dimension::PRESSURE, "absolute pressure in the pipe")
                .not_negative(),
            OUTSIDE,
            AIR_TEMPERATURE,
            COEFFICIENT,
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[crate::formula::Limit {
            says: "pressure ≤ outside_pressure",
            holds: |a| a[1] <= a[2],
        }],
        caution: Some("The valve roars, and draws in what is before it: guard it with a screen."),
        source: Source::read(CENGEL, "ch. 12, isentropic flow through a converging nozzle"),
        hides: HIDDEN,
        checks: &[
            Check {
                arguments: &[
                    ("valve_bore", "79.78846 mm"),
                    ("pressure", "0.4 MPa_abs"),
                    ("outside_pressure", "1.045 MPa_abs"),
                    ("air_temperature", "610.85 degC"),
                    ("coefficient", "1"),
                ],
                expected: "1.7238 m^3/s",
                tolerance: 2e-3,
                source: "Cengel & Cimbala 2010, Ex. 12-4(b): 50 cm², choked, 7.10 kg/s (result \
                         from memory), at R T/p of 884 K and 1.045 MPa",
            },
            Check {
                arguments: &[
                    ("valve_bore", "79.78846 mm"),
                    ("pressure", "0.7 MPa_abs"),
                    ("outside_pressure", "1.045 MPa_abs"),
                    ("air_temperature", "610.85 degC"),
                    ("coefficient", "1"),
                ],
                expected: "1.6412 m^3/s",
                tolerance: 5e-3,
                source: "Cengel & Cimbala 2010, Ex. 12-4(a): not choked, 6.76 kg/s by tables \
                         (result from memory)",
            },
            Check {
                arguments: &[
                    ("valve_bore", "25 mm"),
                    ("pressure", "40 kPa_abs"),
                    ("coefficient", "0.6"),
                ],
                expected: "0.0580004933 m^3/s",
                tolerance: 1e-6,
                source: "fluids 1.3.1, API 520 C of 1.4 over its 0.03948: ψ = 0.684731",
            },
        ],
        body: Body::Five(air_valve_flow),
    },
    Formula {
        name: "siphon_break_time",
        summary: "Time from opening the valve at the crest until the flow of a siphon has stopped, \
                  by a simple bound.",
        equation: "t = V_crest/(Q_air p_out/p − c Q) + 2 V_fall/Q; p = p_out − ρ g z_crest",
        parameters: &[
            BORE,
            Parameter::new(
                "crest_rise",
                Dimension::LENGTH,
                "invert of the bore at the crest above the pond's level, over which the water must \
                 no longer get",
            )
            .not_negative(),
            Parameter::new(
                "crest_volume",
                Dimension::VOLUME,
                "of the pipe's crest that must fill with air before the column parts",
            )
            .positive(),
            Parameter::new("flow", Dimension::FLOW, "of the water before the valve opens")
                .positive(),
            Parameter::new(
                "falling_volume",
                Dimension::VOLUME,
                "of the water behind the crest, which still runs out when the column has parted",
            )
            .not_negative(),
            OUTSIDE,
            AIR_TEMPERATURE,
            COEFFICIENT,
            Parameter::new(
                "carried",
                Dimension::NONE,
                "air that the water carries off meanwhile, over its own flow; 0.1 unless given \
                 (common practice, no source)",
            )
            .within(0.0, 1.0)
            .or(0.1),
            DENSITY,
            GRAVITY,
        ],
        result: Output::new(Dimension::TIME),
        limits: &[],
        caution: Some(
            "A bound on the long side of a simple model, not a simulation: the pressure at the \
             crest is that of standing water, its highest, so that the valve passes its least; the \
             flow carries air off at its full rate all the while, and then falls evenly to nothing. \
             The valve must open by itself when the electricity fails, and a siphon needs a second \
             way to stop it. Try it before the plant runs alone.",
        ),
        source: Source::exact(VACUUM, "balance of air at the crest; model of this library"),
        hides: HIDDEN,
        checks: &[Check {
            arguments: &[
                ("valve_bore", "32 mm"),
                ("crest_rise", "2.4 m"),
                ("crest_volume", "150 L"),
                ("flow", "95 L/s"),
                ("falling_volume", "0.45 m^3"),
                ("outside_pressure", "97 kPa_abs"),
                ("air_temperature", "10 degC"),
                ("coefficient", "0.7"),
                ("carried", "0.2"),
            ],
            expected: "10.8623287 s",
            tolerance: 1e-6,
            source: "the balance of the equation, by arithmetic apart from this code",
        }],
        body: Body::Series(siphon_break_time),
    },
];

fn air_valve_flow(bore: f64, inside: f64, outside: f64, t: f64, coefficient: f64) -> f64 {
    let critical = (2.0 / (GAMMA + 1.0)).powf(GAMMA / (GAMMA - 1.0));
    if inside > outside {
        return f64::NAN;
    }
    let r = (inside / outside).max(critical);
    let psi = (2.0 * GAMMA / (GAMMA - 1.0) * (r.powf(2.0 / GAMMA) - r.powf((GAMMA + 1.0) / GAMMA)))
        .sqrt();
    coefficient * circle_area(bore) * (R_AIR * t).sqrt() * psi
}

fn siphon_break_time(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let [bore, rise, crest, flow, falling, outside, t, coefficient, carried, density, gravity] =
        numbers(arguments)?;
    let inside = outside - density * gravity * rise;
    if inside <= 0.0 {
        return Err(Refusal("crest_rise: no siphon lifts water so high".to_owned()));
    }
    let comes_in = air_valve_flow(bore, inside, outside, t, coefficient) * outside / inside;
    let stays = comes_in - carried * flow;
    if stays <= 0.0 {
        return Err(Refusal(format!(
            "valve_bore: lets in {:.1} L/s of air at the pressure of the crest, and the water may \
             carry off {:.1} L/s: it may never stop",
            comes_in * 1000.0,
            carried * flow * 1000.0
        )));
    }
    Ok(crest / stays + 2.0 * falling / flow)
}
