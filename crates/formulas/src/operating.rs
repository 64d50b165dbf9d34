//! Where line and runner meet: the operating point of fixed blades.

use forebay_units::Dimension;

use crate::bracketed::root;
use crate::curve::Curve;
use crate::formula::{
    Argument, Body, Check, Formula, Kind, Limit, Output, Parameter, Refusal, Source, Subject,
};
use crate::line::{HIDDEN, whole_loss};
use crate::line_pieces::{
    BORE, CONE, FITTINGS, LENGTH, LOSS, Piece, RISE, ROUGHNESS, numbers, rising_line,
};
use crate::line_pressure::Site;
use crate::pipes::{circle_area, velocity_head};
use crate::sources::{BERNOULLI, DEFINITION};
use crate::usual::{ALTITUDE_OR_SEA, GRAVITY, TEMPERATURE_OR_15};
use crate::water_properties::vapour_pressure;

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "operating",
    about: "Where line and runner meet: the operating point of fixed blades.",
    formulas: FORMULAS,
};

const COUNTED: &str = "Net head by IEC 60041 ends at the draft tube's mouth: the line's losses and \
    the velocity head that leaves the mouth are taken off here, once; the draft tube's own loss is \
    not, since a maker's efficiency and head already hold it. Where the runner alone is known, add \
    the tube's loss to the last piece instead; never both. Speed is taken as held by the load: at \
    another speed the runner takes another flow. The pressure in the line is held against the \
    vapour pressure and a margin; that under the runner is lowest_pressure's and setting_limit's.";

const STEADY: Source =
    Source::exact(BERNOULLI, "from the pond to the tailwater; net head as in IEC 60041");

const GROSS_HEAD: Parameter = Parameter::new(
    "gross_head",
    Dimension::LENGTH,
    "level of the pond above that of the tailwater into which the draft tube dips",
)
.positive();

const DESIGN_FLOW: Parameter =
    Parameter::new("design_flow", Dimension::FLOW, "of one unit at its design head").positive();

const DESIGN_HEAD: Parameter = Parameter::new(
    "design_head",
    Dimension::LENGTH,
    "net head at which one unit takes its design flow",
)
.positive();

const LEAVING_BORE: Parameter = Parameter::new(
    "leaving_bore",
    Dimension::LENGTH,
    "bore at the mouth of each draft tube, whose velocity head is lost in the tailwater; a very \
     wide one where the maker's net head already leaves it out",
)
.positive();

const EXPONENT: Parameter = Parameter::new(
    "exponent",
    Dimension::NONE,
    "of the head in the flow: 2 for fixed blades near their design point, as an orifice; the \
     maker's curve is better",
)
.positive()
.valid(1.0, 3.0)
.or(2.0);

const UNITS: Parameter = Parameter::new(
    "units",
    Dimension::NONE,
    "alike and in parallel at the end of the line; 1 unless given",
)
.within(1.0, 1000.0)
.or(1.0);

const START_DEPTH: Parameter = Parameter::new(
    "start_depth",
    Dimension::LENGTH,
    "of the pipe's axis at the mouth below the pond's level; 0 unless given, the safe side",
)
.or(0.0);

const MARGIN: Parameter = Parameter::new(
    "margin",
    Dimension::PRESSURE_DIFFERENCE,
    "that the lowest pressure in the line must keep above that of vapour; 25 kPa unless given \
     (from memory), 3 to 5 kPa more for days of low pressure",
)
.not_negative()
.or(25e3);

const APART: &str = "scipy 1.17, brentq on losses by fluids 1.3.1 and iapws 1.5.5, by a program \
    apart from this code";

/// The line of the checks.
const LINE: [(&str, &str); 6] = [
    ("bore", "[253.2, 253.2, 226.2, 300] mm"),
    ("length", "[4.4, 3.2, 8.1, 2.5] m"),
    ("rise", "[2.2, 0, -3.1, -0.42] m"),
    ("roughness", "[0.007, 0.007, 0.05, 0.007] mm"),
    ("loss", "[0.3, 0.21, 0, 0.1]"),
    ("fittings", "bellmouth; ; 2 elbow + gate_valve; "),
];

static FORMULAS: &[Formula] = &[
    Formula {
        name: "runner_head",
        summary: "Net head that a fixed-blade runner takes at a flow, its speed being held.",
        equation: "H = H_d (Q/Q_d)^n",
        parameters: &[
            Parameter::new("flow", Dimension::FLOW, "through the runner").not_negative(),
            DESIGN_FLOW,
            DESIGN_HEAD,
            EXPONENT,
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[Limit {
            says: "flow from 0.5 to 1.5 of the design flow, near which the law holds",
            holds: |a| a[0] >= 0.5 * a[1] && a[0] <= 1.5 * a[1],
        }],
        caution: None,
        source: Source::memory(DEFINITION, "law of similar flow at a fixed opening"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("flow", "98.6 L/s"),
                ("design_flow", "116 L/s"),
                ("design_head", "2.75 m"),
            ],
            expected: "1.986875 m",
            tolerance: 1e-9,
            source: "by hand: 0.85² · 2.75 m",
        }],
        body: Body::Four(runner_head),
    },
    Formula {
        name: "runner_efficiency",
        summary: "Efficiency of a runner at a flow, read from the maker's curve.",
        equation: "η = straight line between the points of the curve at Q/Q_d",
        parameters: &[
            Parameter::of_kind(
                "share",
                Kind::Series(Dimension::NONE),
                "flows of the curve over the design flow, rising",
            )
            .not_negative()
            .column(),
            Parameter::of_kind(
                "efficiency",
                Kind::Series(Dimension::NONE),
                "at these flows; say of what: runner with draft tube, by IEC 60041, unless the \
                 maker says otherwise",
            )
            .within(0.0, 1.0)
            .column(),
            Parameter::new("flow", Dimension::FLOW, "through the runner").not_negative(),
            DESIGN_FLOW,
        ],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "linear interpolation, never beyond the curve"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("share", "[0.5, 0.8, 1.0, 1.2]"),
                ("efficiency", "[0.31, 0.66, 0.78, 0.70]"),
                ("flow", "104.4 L/s"),
                ("design_flow", "116 L/s"),
            ],
            expected: "0.72",
            tolerance: 1e-9,
            source: "by hand: half way from 0.66 to 0.78",
        }],
        body: Body::Series(runner_efficiency),
    },
    Formula {
        name: "operating_flow",
        summary: "Flow at which the head left by a line is just the head that fixed-blade runners \
                  take.",
        equation: "H_gross − Σ h(Q) − V_mouth²/2g = H_d (Q/(units Q_d))^n, solved for Q",
        parameters: &[
            BORE,
            LENGTH,
            RISE.or(0.0),
            ROUGHNESS,
            LOSS,
            FITTINGS,
            CONE,
            GROSS_HEAD,
            DESIGN_FLOW,
            DESIGN_HEAD,
            LEAVING_BORE,
            EXPONENT,
            UNITS,
            START_DEPTH,
            ALTITUDE_OR_SEA,
            TEMPERATURE_OR_15,
            MARGIN,
            GRAVITY,
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: Some(COUNTED),
        source: STEADY,
        hides: HIDDEN,
        checks: &[
            Check {
                arguments: &[
                    LINE[0],
                    LINE[1],
                    LINE[2],
                    LINE[3],
                    LINE[4],
                    LINE[5],
                    ("gross_head", "3.32 m"),
                    ("design_flow", "116 L/s"),
                    ("design_head", "2.75 m"),
                    ("leaving_bore", "410 mm"),
                    ("start_depth", "0.8 m"),
                    ("altitude", "400 m"),
                    ("temperature", "8 degC"),
                ],
                expected: "107.820756 L/s",
                tolerance: 1e-4,
                source: APART,
            },
            Check {
                arguments: &[
                    LINE[0],
                    LINE[1],
                    LINE[2],
                    LINE[3],
                    LINE[4],
                    LINE[5],
                    ("gross_head", "3.32 m"),
                    ("design_flow", "60 L/s"),
                    ("design_head", "2.5 m"),
                    ("leaving_bore", "250 mm"),
                    ("exponent", "1.8"),
                    ("units", "2"),
                    ("temperature", "8 degC"),
                ],
                expected: "113.203614 L/s",
                tolerance: 1e-4,
                source: APART,
            },
        ],
        body: Body::Series(operating_flow),
    },
    Formula {
        name: "operating_flow_by_curve",
        summary: "The same with the runner's head over its flow from the maker's table.",
        equation: "H_gross − Σ h(Q) − V_mouth²/2g = H(Q/units), straight between the points of the \
                   table, solved for Q",
        parameters: &[
            BORE,
            LENGTH,
            RISE.or(0.0),
            ROUGHNESS,
            LOSS,
            FITTINGS,
            CONE,
            GROSS_HEAD,
            Parameter::of_kind(
                "flows",
                Kind::Series(Dimension::FLOW),
                "through one unit, rising, at the speed it is held at",
            )
            .not_negative(),
            Parameter::of_kind(
                "heads",
                Kind::Series(Dimension::LENGTH),
                "net head that one unit takes at these flows",
            )
            .not_negative(),
            LEAVING_BORE,
            UNITS,
            START_DEPTH,
            ALTITUDE_OR_SEA,
            TEMPERATURE_OR_15,
            MARGIN,
            GRAVITY,
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: Some(COUNTED),
        source: STEADY,
        hides: HIDDEN,
        checks: &[Check {
            arguments: &[
                LINE[0],
                LINE[1],
                LINE[2],
                LINE[3],
                LINE[4],
                LINE[5],
                ("gross_head", "3.32 m"),
                ("flows", "[60, 90, 120, 150] L/s"),
                ("heads", "[1.1, 1.8, 2.9, 4.4] m"),
                ("leaving_bore", "410 mm"),
                ("start_depth", "0.8 m"),
                ("altitude", "400 m"),
                ("temperature", "8 degC"),
            ],
            expected: "106.376869 L/s",
            tolerance: 1e-4,
            source: APART,
        }],
        body: Body::Series(operating_flow_by_curve),
    },
];

fn runner_head(flow: f64, design_flow: f64, design_head: f64, exponent: f64) -> f64 {
    design_head * (flow / design_flow).powf(exponent)
}

fn runner_efficiency(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[share, efficiency, Argument::Number(flow), Argument::Number(design_flow)] = arguments
    else {
        return Err(Refusal("share and efficiency: expected columns".to_owned()));
    };
    let curve = Curve::new("share", share.values(), "efficiency", efficiency.values())?;
    let at = flow / design_flow;
    curve.at(at).ok_or_else(|| {
        Refusal(format!(
            "flow: is {at:.3} of the design flow; the curve runs from {} to {}",
            curve.least(),
            curve.greatest()
        ))
    })
}

/// What stands around the runner: all that the head law meets.
struct Plant<'a> {
    line: &'a [Piece],
    gross_head: f64,
    leaving_bore: f64,
    units: f64,
    start_depth: f64,
    altitude: f64,
    temperature: f64,
    margin: f64,
    gravity: f64,
}

impl Plant<'_> {
    fn site(&self) -> Site<'_> {
        Site::new(self.line, -self.start_depth, self.altitude, self.temperature, self.gravity)
    }

    /// The net head that is left at a flow through all units together.
    fn net_head(&self, site: &Site<'_>, flow: f64) -> f64 {
        let leaving = flow / self.units / circle_area(self.leaving_bore);
        self.gross_head
            - whole_loss(self.line, flow, site.water)
            - velocity_head(leaving, self.gravity)
    }

    /// The flow, unless the water column breaks before it is reached.
    fn unbroken(&self, site: &Site<'_>, flow: f64) -> Result<f64, Refusal> {
        let least = vapour_pressure(self.temperature) + self.margin;
        let (lowest, piece) = site.lowest(flow);
        if lowest >= least {
            return Ok(flow);
        }
        let at = format!(
            "the siphon breaks before: at {:.1} L/s the pressure in piece {piece} would be {:.1} \
             kPa_abs, and {:.1} kPa_abs are needed (vapour and margin)",
            flow * 1000.0,
            lowest / 1000.0,
            least / 1000.0
        );
        Err(Refusal(match site.flow_limit(least) {
            Some(limit) => format!("{at}; it holds up to {:.1} L/s", limit * 1000.0),
            None => format!("{at}; it does not even hold at rest"),
        }))
    }
}

fn operating_flow(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let (line, rest) = rising_line(arguments)?;
    let [
        gross_head,
        design_flow,
        design_head,
        leaving_bore,
        exponent,
        units,
        start_depth,
        altitude,
        temperature,
        margin,
        gravity,
    ] = numbers(rest)?;
    let plant = Plant {
        line: &line,
        gross_head,
        leaving_bore,
        units: whole(units)?,
        start_depth,
        altitude,
        temperature,
        margin,
        gravity,
    };
    let site = plant.site();
    let left = |flow: f64| {
        plant.net_head(&site, flow) - runner_head(flow / units, design_flow, design_head, exponent)
    };
    // Here the runner alone would take all of the gross head.
    let most = units * design_flow * (gross_head / design_head).powf(exponent.recip());
    let flow = root(left, 0.0, most).ok_or_else(|| {
        Refusal("no operating point: line and runner never take just the gross head".to_owned())
    })?;
    plant.unbroken(&site, flow)
}

fn operating_flow_by_curve(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let (line, rest) = rising_line(arguments)?;
    let [gross_head, flows, heads, rest @ ..] = rest else {
        return Err(Refusal("gross_head, flows, heads: expected".to_owned()));
    };
    let [gross_head] = numbers(&[*gross_head])?;
    let [leaving_bore, units, start_depth, altitude, temperature, margin, gravity] = numbers(rest)?;
    let curve = Curve::new("flows", flows.values(), "heads", heads.values())?;
    let plant = Plant {
        line: &line,
        gross_head,
        leaving_bore,
        units: whole(units)?,
        start_depth,
        altitude,
        temperature,
        margin,
        gravity,
    };
    let site = plant.site();
    let left = |unit_flow: f64| {
        let head = curve.at(unit_flow).unwrap_or(f64::NAN);
        plant.net_head(&site, unit_flow * units) - head
    };
    let (least, greatest) = (curve.least(), curve.greatest());
    if left(least) < 0.0 {
        return Err(no_point("least", least, left(least), "smaller flow, where the curve ends"));
    }
    if left(greatest) > 0.0 {
        return Err(no_point(
            "greatest",
            greatest,
            left(greatest),
            "greater flow, beyond the curve",
        ));
    }
    let unit_flow = root(left, least, greatest).ok_or_else(|| {
        Refusal("no operating point: line and runner never take just the gross head".to_owned())
    })?;
    plant.unbroken(&site, unit_flow * units)
}

fn no_point(end: &str, flow: f64, left: f64, beyond: &str) -> Refusal {
    let more = if left < 0.0 { "less" } else { "more" };
    Refusal(format!(
        "flows: no operating point on the curve: at its {end} flow, {:.1} L/s, the line leaves \
         {:.3} m {more} than the runner takes; they would meet at a {beyond}",
        flow * 1000.0,
        left.abs()
    ))
}

fn whole(units: f64) -> Result<f64, Refusal> {
    if units.fract() == 0.0 { Ok(units) } else { Err(Refusal("units: must be whole".to_owned())) }
}
