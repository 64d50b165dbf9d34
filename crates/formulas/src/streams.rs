//! Flow of a stream: orifice, flume, float, current meter, salt, bucket, and from the channel itself.

use forebay_units::Dimension;

use crate::formula::{
    Argument, Body, Check, Doubted, Formula, Kind, Limit, Output, Parameter, Refusal, Source,
    Subject,
};
use crate::side_by_side::side_by_side;
use crate::sources::{BERNOULLI, DEFINITION, ISO_748, ISO_9555, MANNING, WATER_MEASUREMENT};
use crate::usual::GRAVITY;

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "streams",
    about: "Flow of a stream: orifice, flume, float, current meter, salt, bucket, channel.",
    formulas: FORMULAS,
};

const FOOT: f64 = 0.3048;
const INCH: f64 = 0.0254;

/// What a flow measured once is worth.
const ONE_DAY: &str = "One measurement is the flow of one day: a plant lives from the dry months.";

const FLOW: Parameter = Parameter::new("flow", Dimension::FLOW, "flow in the channel").positive();

const WIDTH: Parameter =
    Parameter::new("width", Dimension::LENGTH, "width of the rectangular channel").positive();

/// Of an open channel.
pub(crate) const SLOPE: Parameter = Parameter::new(
    "slope",
    Dimension::NONE,
    "fall of the energy line along the channel, as a ratio; in uniform flow that of the bed",
)
.positive()
.valid(1e-5, 0.1);

/// Manning's n.
pub(crate) const ROUGHNESS: Parameter = Parameter::new(
    "roughness",
    Dimension::NONE,
    "Manning's n: 0.010 smooth plastic, 0.013 concrete, 0.03 a clean earth channel, 0.05 a \
     mountain stream with boulders",
)
.positive()
.valid(0.008, 0.2);

static FORMULAS: &[Formula] = &[
    Formula {
        name: "orifice_flow",
        summary: "Flow through an opening under a head of water, free or drowned.",
        equation: "Q = C_d A √(2 g Δh)",
        parameters: &[
            Parameter::new("area", Dimension::AREA, "area of the opening").positive(),
            Parameter::new(
                "head_difference",
                Dimension::LENGTH,
                "free outflow: water level above the centre of the opening; drowned: the \
                 difference of the two levels",
            )
            .not_negative(),
            Parameter::new(
                "coefficient",
                Dimension::NONE,
                "0.61 for a sharp edge with full contraction; 0.6 to 0.7 for a saddle siphon",
            )
            .positive()
            .valid(0.5, 1.0)
            .or(0.61),
            GRAVITY,
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: None,
        source: Source::read(
            BERNOULLI,
            "Torricelli; coefficient USBR Water Measurement Manual ch. 9",
        ),
        hides: None,
        checks: &[
            Check {
                arguments: &[("area", "78.539816 cm^2"), ("head_difference", "1.5 m")],
                expected: "25.98607 L/s",
                tolerance: 3e-7,
                source: "Torricelli with 0.61 through a bore of 0.10 m, by hand",
            },
            Check {
                arguments: &[
                    ("area", "4 m^2"),
                    ("head_difference", "7.5 m"),
                    ("coefficient", "0.6"),
                    ("gravity", "9.81 m/s^2"),
                ],
                expected: "29.1 m^3/s",
                tolerance: 1e-3,
                source: "B.C. Punmia, Irrigation and Water Power Engineering, 16th ed., Laxmi \
                         2009, Ex. 11.3",
            },
        ],
        body: side_by_side!(orifice_flow, a, b, c, d),
    },
    Formula {
        name: "flume_parshall_flow",
        summary: "Free flow through a Parshall flume of a standard throat.",
        equation: "Q = C h^n by throat; 1 to 8 ft: Q = 4 W h^(1.522 W^0.026) (ft³/s, ft)",
        parameters: &[
            Parameter::new(
                "throat",
                Dimension::LENGTH,
                "width of the throat: 1, 2, 3, 6 or 9 in, or 1 to 8 ft",
            )
            .within(0.0253, 2.4385),
            Parameter::new(
                "head",
                Dimension::LENGTH,
                "depth at the upper gauge, two thirds up the converging wall",
            )
            .positive()
            .valid(0.015, 0.76),
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[Limit {
            says: "a throat of 1, 2, 3, 6 or 9 in, or from 1 to 8 ft",
            holds: |a| parshall(a[0]).is_some(),
        }],
        caution: Some(
            "Free flow only: drowned from a ratio of the two gauges of 0.5 (1 to 3 in), 0.6 (6 and \
             9 in) or 0.7 (1 to 8 ft) upward, and then it reads high.",
        ),
        source: Source::memory(WATER_MEASUREMENT, "chapter 8; also ASTM D1941"),
        hides: Some("foot and second"),
        checks: &[
            Check {
                arguments: &[("throat", "3 in"), ("head", "0.5 ft")],
                expected: "0.33948319 ft^3/s",
                tolerance: 1e-6,
                source: "USBR Water Measurement Manual ch. 8 (coefficients from memory), by hand",
            },
            Check {
                arguments: &[("throat", "1 ft"), ("head", "1.2 ft")],
                expected: "5.2792697 ft^3/s",
                tolerance: 1e-6,
                source: "USBR Water Measurement Manual ch. 8 (coefficients from memory), by hand",
            },
        ],
        body: Body::Two(parshall_flow),
    },
    Formula {
        name: "float_flow",
        summary: "Flow of a stream from the time a float takes over a measured reach.",
        equation: "Q = k A L / t",
        parameters: &[
            Parameter::new("area", Dimension::AREA, "mean wetted cross-section of the reach")
                .positive(),
            Parameter::new("distance", Dimension::LENGTH, "length of the reach").positive(),
            Parameter::new("time", Dimension::TIME, "mean time of several floats").positive(),
            Parameter::new(
                "factor",
                Dimension::NONE,
                "mean velocity over surface velocity; float_factor gives it from the depth",
            )
            .positive()
            .valid(0.6, 0.9),
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: Some(
            "Good to 15 to 25 %. The factor 0.85 that is often given reads 29 % high in a stream \
             0.3 m deep. One measurement is the flow of one day.",
        ),
        source: Source::exact(ISO_748, "floats"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("area", "1.2 m^2"),
                ("distance", "10 m"),
                ("time", "20 s"),
                ("factor", "0.85"),
            ],
            expected: "0.51 m^3/s",
            tolerance: 1e-9,
            source: "ISO 748 float method, by hand",
        }],
        body: side_by_side!(float_flow, a, b, c, d),
    },
    Formula {
        name: "float_factor",
        summary: "Mean velocity of a stream over the velocity of its surface.",
        equation: "straight between 0.66 at 1 ft, 0.68, 0.70, 0.72, 0.74, 0.76 at 6 ft, 0.77 at \
                   9 ft, 0.78 at 12 ft, 0.79 at 15 ft and 0.80 from 20 ft",
        parameters: &[Parameter::new("depth", Dimension::LENGTH, "mean depth of the stream")
            .positive()
            .valid(0.3, 10.0)],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: Some("In a shallow or rough stream the factor is lower still."),
        source: Source::memory(WATER_MEASUREMENT, "chapter 13, float method"),
        hides: Some("foot"),
        checks: &[
            Check {
                arguments: &[("depth", "3 ft")],
                expected: "0.70",
                tolerance: 1e-9,
                source: "USBR Water Measurement Manual ch. 13 (from memory)",
            },
            Check {
                arguments: &[("depth", "1 ft")],
                expected: "0.66",
                tolerance: 1e-9,
                source: "USBR Water Measurement Manual ch. 13 (from memory)",
            },
        ],
        body: Body::One(float_factor),
    },
    Formula {
        name: "velocity_area_flow",
        summary: "Flow from depths and mean velocities across a stream, by mid-sections.",
        equation: "Q = Σ vᵢ dᵢ (xᵢ₊₁ − xᵢ₋₁)/2; at the banks half the one width there is",
        parameters: &[
            Parameter::of_kind(
                "stations",
                Kind::Series(Dimension::LENGTH),
                "distances from one bank, in order, both banks included",
            ),
            Parameter::of_kind("depths", Kind::Series(Dimension::LENGTH), "depth at each station")
                .not_negative(),
            Parameter::of_kind(
                "velocities",
                Kind::Series(Dimension::VELOCITY),
                "mean velocity of each vertical: at 0.6 of the depth, or the mean of those at 0.2 \
                 and 0.8; negative where the water runs back",
            ),
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: Some(ONE_DAY),
        source: Source::read(ISO_748, "mid-section method; also USGS TM 3-A8"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("stations", "[0, 0.5, 1.0, 1.5, 2.0] m"),
                ("depths", "[0, 0.30, 0.45, 0.25, 0] m"),
                ("velocities", "[0, 0.40, 0.55, 0.30, 0] m/s"),
            ],
            expected: "0.22125 m^3/s",
            tolerance: 1e-9,
            source: "ISO 748 mid-section method, by hand",
        }],
        body: Body::Series(velocity_area_flow),
    },
    Formula {
        name: "salt_dilution_flow",
        summary: "Flow from a gulp of salt and its passing concentration downstream.",
        equation: "Q = M / ∫(c − c₀) dt, by trapezoids",
        parameters: &[
            Parameter::new("mass", Dimension::MASS, "mass of salt put in at once").positive(),
            Parameter::new("interval", Dimension::TIME, "time between two readings").positive(),
            Parameter::of_kind(
                "concentrations",
                Kind::Series(Dimension::DENSITY),
                "readings above the stream's own concentration, from before the salt comes until \
                 it has passed",
            ),
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: Some(
            "The probe needs a calibration in the stream's own water, the salt must have mixed \
             over the whole width, and the readings must have come back to where they began. Salt \
             in a stream may need a permit.",
        ),
        source: Source::exact(ISO_9555, "integration method, balance of mass"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("mass", "500 g"),
                ("interval", "20 s"),
                ("concentrations", "[0, 0, 2, 9, 16, 18, 15, 11, 7, 4, 2, 1, 0] mg/L"),
            ],
            expected: "294.117647 L/s",
            tolerance: 3e-9,
            source: "ISO 9555 balance of mass: 500 g / (20 s · 85 mg/L), by hand",
        }],
        body: Body::SeriesDoubted(salt_dilution_flow),
    },
    Formula {
        name: "bucket_flow",
        summary: "Flow from the times a bucket takes to fill.",
        equation: "Q = V / mean(t)",
        parameters: &[
            Parameter::new("volume", Dimension::VOLUME, "volume filled each time").positive(),
            Parameter::of_kind("times", Kind::Series(Dimension::TIME), "time of each filling")
                .positive(),
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: Some(ONE_DAY),
        source: Source::exact(DEFINITION, "volume per time; the mean is that of the times"),
        hides: None,
        checks: &[Check {
            arguments: &[("volume", "20 L"), ("times", "[8.1, 8.4, 8.3] s")],
            expected: "2.419354839 L/s",
            tolerance: 1e-9,
            source: "volume over mean time: 60 L / 24.8 s, by hand",
        }],
        body: Body::Series(bucket_flow),
    },
    Formula {
        name: "manning_flow",
        summary: "Uniform flow of an open channel.",
        equation: "Q = A R^(2/3) √S / n",
        parameters: &[
            Parameter::new("area", Dimension::AREA, "wetted cross-section").positive(),
            Parameter::new(
                "hydraulic_radius",
                Dimension::LENGTH,
                "wetted cross-section over wetted perimeter",
            )
            .positive(),
            SLOPE,
            ROUGHNESS,
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: None,
        source: Source::read(MANNING, "n in s/m^(1/3), the same number in US units"),
        hides: Some("metre and second: n is given as a bare number"),
        checks: &[
            Check {
                arguments: &[
                    ("area", "6.96 m^2"),
                    ("hydraulic_radius", "0.8358692 m"),
                    ("slope", "0.000555556"),
                    ("roughness", "0.025"),
                ],
                expected: "5.822710 m^3/s",
                tolerance: 2e-6,
                source: "data of J.F. Douglas, Fluid Mechanics, 5th ed., Pearson 2005, Ex. 15.1 \
                         (trapezoid 4 m, 1.2 m deep, 1.5 to 1), by hand",
            },
            Check {
                arguments: &[
                    ("area", "0.3 m^2"),
                    ("hydraulic_radius", "0.1875 m"),
                    ("slope", "0.001"),
                    ("roughness", "0.014"),
                ],
                expected: "0.221 m^3/s",
                tolerance: 6e-3,
                source: "C. Schaschke, Fluid Mechanics: Worked Examples for Engineers, IChemE \
                         2000, Ex. 7.2 (printed with the exponent 0.67, 0.45 % low)",
            },
        ],
        body: Body::Four(manning_flow),
    },
    Formula {
        name: "manning_depth_rectangular",
        summary: "Depth of uniform flow in a rectangular channel.",
        equation: "Q = b y (b y / (b + 2 y))^(2/3) √S / n, solved for y",
        parameters: &[FLOW, WIDTH, SLOPE, ROUGHNESS],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: None,
        source: Source::read(MANNING, "root by bracketing"),
        hides: Some("metre and second: n is given as a bare number"),
        checks: &[Check {
            arguments: &[
                ("flow", "0.5 m^3/s"),
                ("width", "1.0 m"),
                ("slope", "0.002"),
                ("roughness", "0.015"),
            ],
            expected: "0.4411713 m",
            tolerance: 1e-6,
            source: "Manning's equation: this depth put in gives the flow back, by hand",
        }],
        body: Body::Four(manning_depth),
    },
    Formula {
        name: "critical_depth_rectangular",
        summary: "Depth at which a flow in a rectangular channel has the least energy.",
        equation: "y_c = (Q² / (g b²))^(1/3)",
        parameters: &[FLOW, WIDTH, GRAVITY],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: None,
        source: Source::exact(BERNOULLI, "least specific energy"),
        hides: None,
        checks: &[Check {
            arguments: &[("flow", "33.4743 m^3/s"), ("width", "12.8 m"), ("gravity", "9.81 m/s^2")],
            expected: "0.88667 m",
            tolerance: 1e-4,
            source: "two thirds of the energy head of Brasch & Whyman, Problems in Fluid Flow, \
                     Arnold 1986, Ex. 5.9 (1.33 m)",
        }],
        body: Body::Three(critical_depth),
    },
    Formula {
        name: "froude_number",
        summary: "Velocity over that of a small wave; under 1 the flow is calm.",
        equation: "Fr = V / √(g D)",
        parameters: &[
            Parameter::new("velocity", Dimension::VELOCITY, "mean velocity").not_negative(),
            Parameter::new(
                "depth",
                Dimension::LENGTH,
                "depth of a rectangular channel, or the bore of an intake or pipe",
            )
            .positive(),
            GRAVITY,
        ],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, ""),
        hides: None,
        checks: &[Check {
            arguments: &[("velocity", "1.5 m/s"), ("depth", "0.30 m")],
            expected: "0.874521103",
            tolerance: 1e-9,
            source: "definition V/√(g D), by hand",
        }],
        body: side_by_side!(froude_number, a, b, c),
    },
];

fn orifice_flow(a: f64, dh: f64, c_d: f64, g: f64) -> f64 {
    c_d * a * (2.0 * g * dh).sqrt()
}

/// Coefficient and exponent (ft³/s, ft) of a throat in metres; `None` between the standard ones.
fn parshall(throat: f64) -> Option<(f64, f64)> {
    const SMALL: [(f64, f64, f64); 5] = [
        (1.0, 0.338, 1.55),
        (2.0, 0.676, 1.55),
        (3.0, 0.992, 1.547),
        (6.0, 2.06, 1.58),
        (9.0, 3.07, 1.53),
    ];
    let w = throat / FOOT;
    if w > 0.999 {
        return (w < 8.001).then(|| (4.0 * w, 1.522 * w.powf(0.026)));
    }
    // A throat built within half a millimetre of a standard one is that.
    SMALL
        .into_iter()
        .find(|(inches, ..)| (throat - inches * INCH).abs() < 0.5e-3)
        .map(|(_, c, n)| (c, n))
}

fn parshall_flow(throat: f64, h: f64) -> f64 {
    parshall(throat).map_or(f64::NAN, |(c, n)| c * (h / FOOT).powf(n) * FOOT.powi(3))
}

fn float_flow(a: f64, l: f64, t: f64, k: f64) -> f64 {
    k * a * l / t
}

fn float_factor(depth: f64) -> f64 {
    const TABLE: [(f64, f64); 10] = [
        (1.0, 0.66),
        (2.0, 0.68),
        (3.0, 0.70),
        (4.0, 0.72),
        (5.0, 0.74),
        (6.0, 0.76),
        (9.0, 0.77),
        (12.0, 0.78),
        (15.0, 0.79),
        (20.0, 0.80),
    ];
    let d = depth / FOOT;
    if d <= TABLE[0].0 {
        return TABLE[0].1;
    }
    for pair in TABLE.windows(2) {
        let ((d0, k0), (d1, k1)) = (pair[0], pair[1]);
        if d <= d1 {
            return k0 + (k1 - k0) * (d - d0) / (d1 - d0);
        }
    }
    TABLE[TABLE.len() - 1].1
}

fn velocity_area_flow(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let [Argument::Series(x), Argument::Series(d), Argument::Series(v)] = arguments else {
        return Err(Refusal("stations, depths and velocities: must be series".to_owned()));
    };
    let n = x.len();
    if d.len() != n || v.len() != n {
        return Err(Refusal(format!(
            "stations, depths and velocities: must have the same length, found {n}, {} and {}",
            d.len(),
            v.len()
        )));
    }
    if n < 3 {
        return Err(Refusal("stations: must be at least three, banks included".to_owned()));
    }
    if x.windows(2).any(|pair| pair[1] <= pair[0]) {
        return Err(Refusal("stations: must increase from one bank to the other".to_owned()));
    }
    Ok((0..n)
        .map(|i| {
            let (left, right) = (x[i.saturating_sub(1)], x[(i + 1).min(n - 1)]);
            v[i] * d[i] * (right - left) / 2.0
        })
        .sum())
}

fn salt_dilution_flow(arguments: &[Argument<'_>]) -> Doubted<f64> {
    let [Argument::Number(mass), Argument::Number(dt), Argument::Series(c)] = arguments else {
        return Err(Refusal("concentrations: must be a series".to_owned()));
    };
    let area: f64 = c.windows(2).map(|pair| (pair[0] + pair[1]) / 2.0 * dt).sum();
    if area > 0.0 {
        let peak = c.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let (first, last) = (c.first().copied(), c.last().copied());
        let left = first.zip(last).map_or(0.0, |(first, last)| last - first);
        // A few per cent of the peak is what a probe's drift makes of a true return.
        let doubt = (left.abs() > 0.05 * peak).then_some(
            "last reading within 5 % of the peak of the first (common practice, no source): stop \
             when back to base",
        );
        Ok((mass / area, doubt))
    } else {
        Err(Refusal("concentrations: must rise above the stream's own".to_owned()))
    }
}

fn bucket_flow(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let [Argument::Number(volume), Argument::Series(times)] = arguments else {
        return Err(Refusal("times: must be a series".to_owned()));
    };
    if times.is_empty() {
        return Err(Refusal("times: must have at least one value".to_owned()));
    }
    let mean = times.iter().sum::<f64>() / times.len() as f64;
    Ok(volume / mean)
}

/// Uniform flow of an area and a hydraulic radius.
pub(crate) fn manning_flow(a: f64, r: f64, s: f64, n: f64) -> f64 {
    a * r.powf(2.0 / 3.0) * s.sqrt() / n
}

fn manning_depth(q: f64, b: f64, s: f64, n: f64) -> f64 {
    let flow = |y: f64| manning_flow(b * y, b * y / (b + 2.0 * y), s, n);
    // A channel without walls is shallower: from there upward until the flow is bracketed.
    let mut low = (q * n / (b * s.sqrt())).powf(0.6);
    let mut high = 2.0 * low;
    for _ in 0..64 {
        if flow(high) >= q {
            break;
        }
        low = high;
        high *= 2.0;
    }
    // Halving to the last bit.
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if flow(middle) < q {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

fn critical_depth(q: f64, b: f64, g: f64) -> f64 {
    (q * q / (g * b * b)).cbrt()
}

fn froude_number(v: f64, d: f64, g: f64) -> f64 {
    v / (g * d).sqrt()
}
