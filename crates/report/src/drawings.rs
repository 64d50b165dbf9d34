//! The drawings of a sheet as SVG, each with the data behind it: one row and one file a kind.
//!
//! A picture takes the colour and the typeface of the page it stands in, tells its lines apart
//! without colour, has its units at its axes and its names at its curves, and says in a title and a
//! description what is seen.

mod axes;
mod bars;
mod data;
mod flow_duration;
mod lines;
mod pipe_profile;
mod pond_level;
mod power_chain;
mod ranking;
mod svg;
mod table;
mod varied;

use forebay_sheet::{Sheet, Trouble};

pub use table::DataTable;
pub use varied::vary_svg;

/// A drawing of a sheet.
#[derive(Clone, Debug)]
pub struct Drawing {
    /// The name it has in the sheet.
    pub name: String,
    /// Its heading.
    pub title: String,
    /// A word about it.
    pub about: Option<String>,
    /// The part of the sheet it stands in.
    pub part: Option<usize>,
    /// The picture, or in words why there is none.
    pub picture: Result<Picture, String>,
}

/// A picture and the data behind it.
#[derive(Clone, Debug)]
pub struct Picture {
    /// A whole `<svg>` element without styles, scripts or addresses; everything in it is escaped.
    pub svg: String,
    /// The data.
    pub table: DataTable,
}

/// What a drawing says of itself.
fn heading<'a>(drawing: &'a forebay_sheet::Drawing, description: &'a str) -> svg::Heading<'a> {
    svg::Heading { name: &drawing.name, title: &drawing.title, description }
}

/// How a kind is painted.
struct Painter {
    kind: &'static str,
    paint: fn(&forebay_sheet::Drawing, &mut Sheet) -> Result<Picture, String>,
}

/// Every kind that a sheet knows.
static PAINTERS: &[Painter] = &[
    Painter { kind: "lines", paint: lines::paint_lines },
    Painter { kind: "bars", paint: bars::paint },
    Painter { kind: "scatter", paint: lines::paint_points },
    Painter { kind: "pipe_profile", paint: pipe_profile::paint },
    Painter { kind: "power_chain", paint: power_chain::paint },
    Painter { kind: "flow_duration", paint: flow_duration::paint },
    Painter { kind: "pond_level", paint: pond_level::paint },
    Painter { kind: "ranking", paint: ranking::paint },
];

/// Draws what the sheet wants drawn, in the order written. A curve over a known varies the known and
/// leaves the sheet as it was.
///
/// ```
/// use forebay_report::drawings;
/// use forebay_sheet::Sheet;
///
/// let mut sheet = Sheet::open(
///     "forebay: 1
/// known:
///   flow: 40 L/s
///   head: 3 m
/// work:
///   power: water_power(flow, head)
/// draw:
///   reach:
///     kind: lines
///     over: flow = 10 L/s..80 L/s
///     y: power
/// ",
/// );
/// let drawn = drawings(&mut sheet);
/// let picture = drawn[0].picture.as_ref().unwrap();
/// assert!(picture.svg.starts_with("<svg"));
/// assert_eq!(picture.table.heads, ["flow (L/s)", "power (kW)"]);
///
/// // What has no value is not drawn, and says why.
/// let mut dry = Sheet::open("forebay: 1\nwork:\n  a: 1 m / 0\ndraw:\n  b: { kind: lines, y: a }\n");
/// assert_eq!(drawings(&mut dry)[0].picture.as_ref().unwrap_err(), "waits for a");
/// ```
#[must_use]
pub fn drawings(sheet: &mut Sheet) -> Vec<Drawing> {
    let wanted = sheet.drawings();
    wanted.into_iter().map(|drawing| drawn(drawing, sheet)).collect()
}

fn drawn(drawing: forebay_sheet::Drawing, sheet: &mut Sheet) -> Drawing {
    let picture = match &drawing.trouble {
        Some(Trouble::Waiting(on)) => Err(format!("waits for {}", on.join(", "))),
        Some(Trouble::Failed(why)) => Err(why.message.clone()),
        Some(Trouble::Broken) => Err("see the errors of the sheet".to_owned()),
        None => match PAINTERS.iter().find(|painter| painter.kind == drawing.kind.name) {
            Some(painter) => (painter.paint)(&drawing, sheet),
            None => Err(format!("`{}` cannot be drawn", drawing.kind.name)),
        },
    };
    let forebay_sheet::Drawing { name, title, about, part, .. } = drawing;
    Drawing { name, title, about, part, picture }
}
