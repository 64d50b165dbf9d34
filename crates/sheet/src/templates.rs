//! The worksheets that come with the library, each a file in `templates/`.

/// A worksheet that comes with the library.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Template {
    /// The name it is asked for under.
    pub name: &'static str,
    /// The stage of the job in which it is wanted.
    pub stage: Stage,
    /// What it answers, in one line.
    pub about: &'static str,
    /// The worksheet.
    pub text: &'static str,
}

/// A stage of the job, in the order in which they come.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// Looking at a site and measuring it.
    Measure,
    /// Choosing and sizing what is built.
    Design,
    /// Money and permits.
    Decide,
    /// Starting the plant, running it and looking after it.
    Run,
    /// From the pond to the money in one sheet.
    Whole,
    /// Exercises for a class.
    Teach,
}

impl Stage {
    /// All stages, in their order.
    pub const ALL: [Self; 6] =
        [Self::Measure, Self::Design, Self::Decide, Self::Run, Self::Whole, Self::Teach];

    /// The stage as a heading.
    #[must_use]
    pub fn heading(self) -> &'static str {
        match self {
            Self::Measure => "What is there",
            Self::Design => "What to build",
            Self::Decide => "Is it worth it, and is it allowed",
            Self::Run => "Start it, run it, look after it",
            Self::Whole => "The whole job",
            Self::Teach => "For a class",
        }
    }
}

/// One row a template: name, stage, line, file. The first one runs where no sheet is named.
static TEMPLATES: &[Template] = &[
    row(
        "whole-site",
        Stage::Whole,
        "A low dam with a siphon intake, a fixed-blade turbine, and the inverter at the house",
        include_str!("../templates/whole-site.yaml"),
    ),
    row(
        "first-look",
        Stage::Measure,
        "Is there anything here? Fall, water of each month, and what that is worth",
        include_str!("../templates/first-look.yaml"),
    ),
    row(
        "measuring-head",
        Stage::Measure,
        "The head by rod, hose and gauge, how far each may be off, and what they say together",
        include_str!("../templates/measuring-head.yaml"),
    ),
    row(
        "measuring-flow",
        Stage::Measure,
        "The flow by bucket, float, weir, salt and current meter, and how they compare",
        include_str!("../templates/measuring-flow.yaml"),
    ),
    row(
        "intake-and-screen",
        Stage::Design,
        "Fish screen, rack, their losses clean and clogged, water over the mouth, the stream's share",
        include_str!("../templates/intake-and-screen.yaml"),
    ),
    row(
        "siphon-line",
        Stage::Design,
        "A siphon over a dam: pressure at the crest, air, priming, stopping, the pipe's wall",
        include_str!("../templates/siphon-line.yaml"),
    ),
    row(
        "turbine-and-draft-tube",
        Stage::Design,
        "What the set takes and gives, what its draft tube is worth, its height and runaway",
        include_str!("../templates/turbine-and-draft-tube.yaml"),
    ),
    row(
        "pipe-safety",
        Stage::Design,
        "Surge, the low wave, collapse under vacuum, thrust at bends, spans, warmth, floating",
        include_str!("../templates/pipe-safety.yaml"),
    ),
    row(
        "pond-dry-season",
        Stage::Design,
        "How long the pond lasts in a dry summer, how often the set starts, what it gives",
        include_str!("../templates/pond-dry-season.yaml"),
    ),
    row(
        "shaft-to-meter",
        Stage::Design,
        "Generator, bridge, cable and an inverter on the grid: losses, and every voltage",
        include_str!("../templates/shaft-to-meter.yaml"),
    ),
    row(
        "off-grid",
        Stage::Design,
        "A house on a battery: what the stream carries, and the load that holds the turbine",
        include_str!("../templates/off-grid.yaml"),
    ),
    row(
        "year-and-bills",
        Stage::Decide,
        "A year of energy against a year of bills, by the meter's rules, and when it pays",
        include_str!("../templates/year-and-bills.yaml"),
    ),
    row(
        "commissioning",
        Stage::Run,
        "The first day with water: plan against readings, and the likeliest cause",
        include_str!("../templates/commissioning.yaml"),
    ),
    row(
        "start-stop-loss-of-grid",
        Stage::Run,
        "Overspeed, dump load, valve and surge when the grid goes; starting and stopping",
        include_str!("../templates/start-stop-loss-of-grid.yaml"),
    ),
    row(
        "upkeep",
        Stage::Run,
        "A year's upkeep: calendar, own hours, and what leaves, ice and high water take",
        include_str!("../templates/upkeep.yaml"),
    ),
    row(
        "permit-file",
        Stage::Decide,
        "What must stay in the stream by month, the fish screen, papers and their days",
        include_str!("../templates/permit-file.yaml"),
    ),
    row(
        "quote",
        Stage::Decide,
        "A quote: parts, labour, tax, what is promised, and what it pays",
        include_str!("../templates/quote.yaml"),
    ),
    row(
        "three-quotes",
        Stage::Decide,
        "Three quotes brought to one scope, one head and one flow",
        include_str!("../templates/three-quotes.yaml"),
    ),
    row(
        "exercise-siphon",
        Stage::Teach,
        "Exercise: velocity, losses and the pressure at the crest of a siphon",
        include_str!("../templates/exercise-siphon.yaml"),
    ),
    row(
        "exercise-weir",
        Stage::Teach,
        "Exercise: a brook by notch and bucket, with readings that scatter (US units)",
        include_str!("../templates/exercise-weir.yaml"),
    ),
];

const fn row(
    name: &'static str,
    stage: Stage,
    about: &'static str,
    text: &'static str,
) -> Template {
    Template { name, stage, about, text }
}

/// All templates; the first one is the one that runs where no sheet is named.
#[must_use]
pub fn templates() -> &'static [Template] {
    TEMPLATES
}

/// The template of a name.
#[must_use]
pub fn template(name: &str) -> Option<&'static Template> {
    TEMPLATES.iter().find(|template| template.name == name)
}
