//! Where published methods disagree: what each of them gives, so that the least and the greatest
//! are the band.

use forebay_units::Dimension;

use crate::cavitation::{DE_SIERVO, FITS, MOODY, SPECIFIC_SPEED, USBR};
use crate::cavitation::{thoma_critical_francis, thoma_critical_kaplan};
use crate::diffusers;
use crate::fittings::{BORE_IN, BORE_OUT, CONE_ANGLE, CONE_FRICTION, CONES, WIDENS};
use crate::formula::{
    Argument, Body, Check, Formula, Limit, Output, Parameter, Range, Refusal, Source, Subject,
};
use crate::intake::{GORDON_LATERAL, GORDON_STRAIGHT, VORTEX, gordon, hydraulic_institute};
use crate::line_pieces::numbers;
use crate::siphon::{CLEARING, CLEARING_SLOPE, DISAGREE, air_clearing};
use crate::sources::{CRANE, DE_SIERVO_1976, DE_SIERVO_1977, GORDON, WISNER};
use crate::usual::{GRAVITY, RADIAN};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "bands",
    about: "Where published methods disagree: the value of each, of which least(…) and \
        greatest(…) are the band.",
    formulas: FORMULAS,
};

static FORMULAS: &[Formula] = &[
    Formula {
        name: "thoma_critical_francis_band",
        summary: "The critical Thoma number of a Francis runner by every method, in the order \
            de_siervo_de_leva, moody, usbr.",
        equation: "[σ_c, …] of thoma_critical_francis by each of its methods",
        parameters: &[SPECIFIC_SPEED.valid(60.0, 400.0)],
        result: Output::new(Dimension::NONE).series(),
        limits: &[],
        caution: Some(FITS),
        source: Source::read(DE_SIERVO_1976, "and the sources of thoma_critical_francis"),
        hides: None,
        checks: &[Check {
            arguments: &[("specific_speed", "200")],
            expected: "[0.132, 0.1724, 0.118]",
            tolerance: 4e-3,
            source: "de Siervo & de Leva 1976 and USBR Engineering Monograph 20, quoted in \
                secondary texts; Moody's by hand",
        }],
        body: Body::ToSeries(|arguments| {
            let [specific_speed] = numbers(arguments)?;
            let methods = [DE_SIERVO, MOODY, USBR];
            Ok(methods.map(|method| thoma_critical_francis(specific_speed, method)).to_vec())
        }),
    },
    Formula {
        name: "thoma_critical_kaplan_band",
        summary: "The critical Thoma number of a Kaplan or propeller runner by every method, in \
            the order de_siervo_de_leva, moody.",
        equation: "[σ_c, …] of thoma_critical_kaplan by each of its methods",
        parameters: &[SPECIFIC_SPEED.valid(300.0, 1000.0)],
        result: Output::new(Dimension::NONE).series(),
        limits: &[],
        caution: Some(FITS),
        source: Source::read(DE_SIERVO_1977, "and the sources of thoma_critical_kaplan"),
        hides: None,
        checks: &[Check {
            arguments: &[("specific_speed", "571.2")],
            expected: "[0.67778, 0.73]",
            tolerance: 7e-3,
            source: "Handbook of Turbomachinery, 2nd ed., Marcel Dekker 2003, table of critical \
                values, propeller n_s 150 in rpm, hp and ft, for moody; de Siervo & de Leva's \
                equation by hand",
        }],
        body: Body::ToSeries(|arguments| {
            let [specific_speed] = numbers(arguments)?;
            let methods = [DE_SIERVO, MOODY];
            Ok(methods.map(|method| thoma_critical_kaplan(specific_speed, method)).to_vec())
        }),
    },
    Formula {
        name: "air_clearing_velocity_band",
        summary: "Velocity that carries an air pocket down a sloping pipe by every criterion, in \
            the order kalinske_bliss, kalinske_slope, wisner, wallingford.",
        equation: "[V, …] of air_clearing_velocity by each of its methods",
        parameters: &[BORE, CLEARING_SLOPE, GRAVITY],
        result: Output::new(Dimension::VELOCITY).series(),
        limits: &[Limit {
            says: "a slope up to 0.414 (22.5°) for wallingford",
            holds: |a| a[1] <= 0.4143,
        }],
        caution: Some(DISAGREE),
        source: Source::read(WISNER, "and the sources of air_clearing_velocity"),
        hides: None,
        checks: &[Check {
            arguments: &[("bore", "0.2 m"), ("slope", "0.1")],
            expected: "[0.473870, 0.563772, 1.265834, 1.211848] m/s",
            tolerance: 1e-6,
            source: "Wisner et al. 1975 (as quoted from Sanks); the other three from memory; all \
                by arithmetic apart from this code",
        }],
        body: Body::ToSeries(|arguments| {
            let [bore, slope, gravity] = numbers(arguments)?;
            // The first word is the largest of the others.
            let methods = (0_u16..).map(f64::from).take(CLEARING.len()).skip(1);
            Ok(methods.map(|method| air_clearing(bore, slope, method, gravity)).collect())
        }),
    },
    Formula {
        name: "submergence_band",
        summary: "Depth of water over the crown of an intake that keeps vortices away by every \
            rule, in the order Gordon straight, Gordon lateral, Hydraulic Institute, Knauss, Reddy \
            & Pickford, Prosser. The band is wide: choose the rules that fit the intake (Gordon: \
            hydro intakes; Hydraulic Institute and Prosser: pumps) and take the largest of them.",
        equation: "[S, …]: submergence_gordon with 0.3 and 0.4 s/ft^½; \
            submergence_hydraulic_institute; D max(1, 0.5 + 2 Fr); D (1 + Fr); D, which is 1.5 D \
            over the axis; Fr = V/√(g D)",
        parameters: &[
            Parameter::new("velocity", Dimension::VELOCITY, "mean velocity in the mouth")
                .positive()
                .valid(0.3, 5.0),
            BORE,
            GRAVITY,
        ],
        result: Output::new(Dimension::LENGTH).series(),
        limits: &[],
        caution: Some(VORTEX),
        source: Source::memory(
            GORDON,
            "coefficients from secondary texts, as is ANSI/HI 9.8; from memory, and so the level \
             they count from: Knauss, Swirling Flow Problems at Intakes, 1987; Reddy & Pickford \
             1972; Prosser 1977",
        ),
        hides: Some("Gordon's coefficients of 0.3 and 0.4 s/ft^½"),
        checks: &[Check {
            arguments: &[("velocity", "1.2 m/s"), ("bore", "0.40 m")],
            expected: "[0.4124060, 0.5498747, 0.9574151, 0.6847088, 0.6423544, 0.4] m",
            tolerance: 3e-7,
            source: "Gordon 1970 and ANSI/HI 9.8 from secondary texts, the other three from \
                memory; by arithmetic apart from this code",
        }],
        body: Body::ToSeries(submergence),
    },
    Formula {
        name: "diffuser_loss_coefficient_band",
        summary: "Loss of a cone that widens gradually by every method, on the velocity before it, \
            in the order crane, gibson, hooper, idelchik, miller, rennels, swamee; each held at the \
            edge of its own range. What exceeds expansion_loss_coefficient is not to be believed: \
            `.filter` takes it out.",
        equation: "[K, …] of diffuser_loss_coefficient by each of its methods",
        parameters: &[
            BORE_IN,
            BORE_OUT,
            Parameter { must: CONE_ANGLES, ..CONE_ANGLE },
            CONE_FRICTION,
        ],
        result: Output::new(Dimension::NONE).series(),
        limits: &[WIDENS],
        caution: Some(CONES),
        source: Source::library(CRANE, "and the sources of diffuser_loss_coefficient"),
        hides: RADIAN,
        checks: &[
            Check {
                arguments: &[("bore_in", "0.2 m"), ("bore_out", "0.3 m"), ("angle", "6 deg")],
                expected: "[0.0420, 0.0417, 0.0427, 0.0662, 0.0158, 0.0530, 0.531]",
                tolerance: 0.05,
                source: "fluids 1.3.1, whose six methods span 0.016 to 0.53; Gibson's least share \
                    of 0.135 (from memory) by hand",
            },
            Check {
                arguments: &[
                    ("bore_in", "0.25 m"),
                    ("bore_out", "0.4 m"),
                    ("angle", "12 deg"),
                    ("friction_factor", "0.018"),
                ],
                expected: "[0.10092, 0.08322, 0.10237, 0.0920, 0.07486, 0.07804, 0.7590]",
                tolerance: 0.03,
                source: "fluids 1.3.1; Gibson (from memory) by hand; Idelchik's table lies 3 % from \
                    his equation",
            },
        ],
        body: Body::ToSeries(|arguments| {
            let [bore_in, bore_out, angle, friction_factor] = numbers(arguments)?;
            Ok(diffusers::every(bore_in, bore_out, angle, friction_factor).to_vec())
        }),
    },
];

const BORE: Parameter =
    Parameter::new("bore", Dimension::LENGTH, "inside diameter of the pipe").positive();

/// Without a cone there is none to compare.
const CONE_ANGLES: Range = Range { from: 0.0, to: std::f64::consts::PI, above: true };

fn submergence(arguments: &[Argument<'_>]) -> Result<Vec<f64>, Refusal> {
    let [velocity, bore, gravity] = numbers(arguments)?;
    let froude = velocity / (gravity * bore).sqrt();
    Ok(vec![
        gordon(velocity, bore, GORDON_STRAIGHT),
        gordon(velocity, bore, GORDON_LATERAL),
        hydraulic_institute(velocity, bore, gravity),
        bore * (0.5 + 2.0 * froude).max(1.0),
        bore * (1.0 + froude),
        bore,
    ])
}
