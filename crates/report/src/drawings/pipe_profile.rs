//! A pipe line in its levels: the pipe, the energy line and the pressure line above it, and the
//! level at which the water under its crown would boil, with the place that is nearest to that.

use forebay_formulas::{Given, call, find};
use forebay_sheet::{Content, Drawing, Items, Series, Sheet, Value};
use forebay_units::{Dimension, Quantity, Unit, format_in};

use super::axes::{Axis, Frame};
use super::data::{digits, with_unit};
use super::lines::{Named, broken, name_curves, room_for_names};
use super::svg::{Anchor, Fill, Mark, Stroke, TEXT, width_of};
use super::table::DataTable;
use super::{Picture, heading};

/// How high its field is: ten metres of water are drawn beside a velocity head of some decimetres.
const HIGH: f64 = 330.0;
/// How much of the line's length the water before and behind it takes.
const WATER: f64 = 0.07;

/// The columns of a line's table, each piece twice: first its beginning with the change of bore and
/// the fittings and no length, then the rest. So every level is known before and behind a fitting.
struct Pieces {
    bore: Vec<f64>,
    length: Vec<f64>,
    rise: Vec<f64>,
    roughness: Option<Vec<f64>>,
    loss: Vec<f64>,
    fittings: Vec<String>,
    cone: Option<Vec<f64>>,
    /// What each piece is called, if the table says so.
    names: Vec<String>,
}

/// One section of the line, all in SI.
struct Section {
    along: f64,
    axis: f64,
    bore: f64,
    energy: f64,
    pressure: f64,
}

pub(crate) fn paint(drawing: &Drawing, _: &mut Sheet) -> Result<Picture, String> {
    let pieces = Pieces::of(drawing)?;
    let number = |key: &str| drawing.number(key);
    let (Some(pond), Some(start)) = (number("pond_level"), number("start_level")) else {
        return Err("a level is missing".to_owned());
    };
    let sections = sections(&pieces, drawing, pond, start)?;
    let (air, vapour, weight) = water(drawing)?;
    // So high above its pressure line water stands before it boils.
    let boiling = (air - vapour) / weight;
    let left = |section: &Section| section.pressure + boiling - (section.axis + section.bore / 2.0);
    let critical = sections
        .iter()
        .enumerate()
        .min_by(|a, b| left(a.1).total_cmp(&left(b.1)))
        .map(|(at, _)| at)
        .ok_or("the line has no piece")?;
    let level_unit = drawing
        .unit
        .clone()
        .or_else(|| drawing.under("pond_level").next().and_then(|datum| datum.unit()).cloned());
    let unit = level_unit.filter(|unit| unit.factor() > 0.1).unwrap_or_else(metre);
    let least = vapour + weight * left(&sections[critical]);
    let told = Told {
        piece: pieces.names.get(critical / 2).cloned().unwrap_or_default(),
        least: pressure_in_words(least, &unit),
        left: format_in(left(&sections[critical]), &unit, 3).unwrap_or_default(),
        broken: left(&sections[critical]) < 0.0,
    };
    let tail = number("tail_level");
    let svg = picture(drawing, &sections, critical, &told, (pond, tail), boiling, &unit);
    let in_unit = |si: f64| digits(unit.from_si(si));
    let rows = sections
        .iter()
        .enumerate()
        .map(|(at, section)| {
            let name = pieces.names.get(at / 2).cloned().unwrap_or_default();
            let end = if at % 2 == 0 { "begins" } else { "ends" };
            vec![
                format!("{name} {end}"),
                in_unit(section.along),
                in_unit(section.axis),
                in_unit(section.energy),
                in_unit(section.pressure),
                in_unit(section.pressure + boiling),
                digits((vapour + weight * left(section)) / 1000.0),
            ]
        })
        .collect();
    let heads = vec![
        "place".to_owned(),
        with_unit("along the pipe", &unit),
        with_unit("axis", &unit),
        with_unit("energy line", &unit),
        with_unit("pressure line", &unit),
        with_unit("boiling level", &unit),
        "pressure under the crown (kPa_abs)".to_owned(),
    ];
    Ok(Picture { svg, table: DataTable { heads, rows } })
}

/// What is said of the critical place.
struct Told {
    piece: String,
    least: String,
    left: String,
    broken: bool,
}

fn picture(
    drawing: &Drawing,
    sections: &[Section],
    critical: usize,
    told: &Told,
    (pond, tail): (f64, Option<f64>),
    boiling: f64,
    unit: &Unit,
) -> String {
    let level = |si: f64| unit.from_si(si);
    let whole = sections.last().map_or(1.0, |section| section.along).max(1e-9);
    let margin = WATER * whole;
    let label = drawing.x_label.clone().unwrap_or_else(|| "along the pipe".to_owned());
    let ends = [-margin, if tail.is_some() { whole + margin } else { whole }];
    let mut x = Axis::close(with_unit(&label, unit), ends.into_iter().map(level));
    x.ticks.retain(|(at, _)| *at >= 0.0 && *at <= level(whole) * (1.0 + 1e-9));
    let levels = sections.iter().flat_map(|section| {
        let half = section.bore / 2.0;
        [section.axis - half, section.axis + half, section.energy, section.pressure + boiling]
    });
    let levels = levels.chain([pond]).chain(tail).map(level);
    let y_label = drawing.y_label.clone().unwrap_or_else(|| "level".to_owned());
    let y = Axis::rounded(with_unit(&y_label, unit), levels);
    let names: Vec<Vec<String>> =
        ["water would boil", "energy", "pressure", "pipe"].map(|name| broken(name, 11)).into();
    let place = if told.piece.is_empty() { String::new() } else { format!(" ({})", told.piece) };
    let description = format!(
        "Levels along the pipe. The energy line falls from the pond at {} to {} at its end; the \
         pressure line lies below it by the velocity head. The pressure under the crown is lowest{place}: \
         {}, {} of water from boiling.",
        digits(level(pond)),
        digits(level(sections.last().map_or(pond, |section| section.energy))),
        told.least,
        told.left,
    );
    let beside = room_for_names(names.iter());
    let mut frame = Frame::new(&heading(drawing, &description), (&x, &y), beside, HIGH);
    let at =
        |frame: &Frame, along: f64, height: f64| (frame.x(level(along)), frame.y(level(height)));
    // The pipe itself: its bore as a band, its axis as a line.
    for pair in sections.chunks(2) {
        let [from, to] = pair else { continue };
        let corners = [
            at(&frame, from.along, from.axis + from.bore / 2.0),
            at(&frame, to.along, to.axis + to.bore / 2.0),
            at(&frame, to.along, to.axis - to.bore / 2.0),
            at(&frame, from.along, from.axis - from.bore / 2.0),
        ];
        frame.svg.area(&corners, Fill::Grey(0.2));
    }
    let line = |frame: &Frame, first: f64, of: fn(&Section) -> f64, add: f64| {
        let start = std::iter::once((0.0, first));
        let rest = sections.iter().map(|section| (section.along, of(section) + add));
        let points = start.chain(rest).map(|(along, height)| at(frame, along, height));
        points.collect::<Vec<_>>()
    };
    let first = sections.first().map_or(pond, |section| section.axis);
    let axis = line(&frame, first, |section| section.axis, 0.0);
    let energy = line(&frame, pond, |section| section.energy, 0.0);
    let pressure = line(&frame, pond, |section| section.pressure, 0.0);
    let boil = line(&frame, pond + boiling, |section| section.pressure, boiling);
    frame.svg.path(&axis, Stroke::AXIS);
    frame.svg.path(&energy, Stroke::SOLID);
    frame.svg.path(&pressure, Stroke::DASHED);
    frame.svg.path(&boil, Stroke::DASH_DOT);
    water_surface(&mut frame, level(-margin), 0.0, level(pond));
    if let Some(tail) = tail {
        water_surface(&mut frame, level(whole), level(whole + margin), level(tail));
    }
    // The critical place, and how far it is from boiling.
    let here = &sections[critical];
    let crown = at(&frame, here.along, here.axis + here.bore / 2.0);
    let limit = at(&frame, here.along, here.pressure + boiling);
    frame.svg.line(crown, limit, Stroke::DOTTED);
    frame.svg.mark(crown, Mark::Dot);
    frame.svg.mark(crown, Mark::Ring);
    let words = if told.broken {
        ["the water boils here:".to_owned(), "the column breaks".to_owned()]
    } else {
        [format!("lowest: {}", told.least), format!("{} from boiling", told.left)]
    };
    let widest = words.iter().map(|line| width_of(line, TEXT)).fold(0.0, f64::max);
    // To the right of its line, else to the left; where there is room on neither side, across it.
    let (anchor, x) = if crown.0 + 7.0 + widest < frame.right {
        (Anchor::Start, crown.0 + 7.0)
    } else if crown.0 - 7.0 - widest > frame.left {
        (Anchor::End, crown.0 - 7.0)
    } else {
        (Anchor::Start, frame.left + 4.0)
    };
    let middle = crown.1 + 0.55 * (limit.1 - crown.1);
    for (row, words) in words.iter().enumerate() {
        frame.svg.plated_text(x, middle + 17.0 * row as f64, anchor, words);
    }
    let strokes = [Stroke::DASH_DOT, Stroke::SOLID, Stroke::DASHED, Stroke::AXIS];
    let named: Vec<Named> = names
        .into_iter()
        .zip([boil, energy, pressure, axis])
        .zip(strokes)
        .map(|((lines, points), stroke)| Named {
            lines,
            end: points.last().map_or(0.0, |(_, y)| *y),
            stroke: Some(stroke),
            mark: None,
        })
        .collect();
    name_curves(&mut frame, &named);
    frame.finish()
}

/// A water level with the sign of one: a triangle that stands on it.
fn water_surface(frame: &mut Frame, from: f64, to: f64, level: f64) {
    let (from, to, height) = (frame.x(from), frame.x(to), frame.y(level));
    frame.svg.line((from, height), (to, height), Stroke::HEAVY);
    let middle = (from + to) / 2.0;
    let sign = [(middle - 4.0, height - 9.0), (middle + 4.0, height - 9.0), (middle, height - 2.0)];
    frame.svg.area(&sign, Fill::Outline);
}

impl Pieces {
    fn of(drawing: &Drawing) -> Result<Self, String> {
        let table = drawing.under("line").find_map(|datum| match &datum.content {
            Content::Table(columns) => Some(columns),
            _ => None,
        });
        let table = table.ok_or("`line` is no table")?;
        let find = |name: &str| table.iter().find(|(column, ..)| column == name);
        let numbers = |name: &str, wanted: Dimension| -> Result<Option<Vec<f64>>, String> {
            let Some((_, ty, value)) = find(name) else { return Ok(None) };
            let right = ty.dimension().is_some_and(|found| found == wanted);
            let Value::Series(series) = value else { return Ok(None) };
            match &series.items {
                Items::Numbers(numbers) if right && numbers.iter().all(|n| n.is_finite()) => {
                    Ok(Some(numbers.clone()))
                }
                _ => Err(format!("the column `{name}` wants {wanted} without gaps")),
            }
        };
        let needed = |name: &str| {
            numbers(name, Dimension::LENGTH)?.ok_or(format!("the line has no column `{name}`"))
        };
        let texts = |series: &Series| -> Vec<String> {
            let text = |at| match series.get(at) {
                Some(Value::Text(text)) => text.to_string(),
                _ => String::new(),
            };
            (0..series.len()).map(text).collect()
        };
        let twice = |numbers: Vec<f64>| numbers.iter().flat_map(|n| [*n, *n]).collect::<Vec<_>>();
        let (bore, length, rise) = (needed("bore")?, needed("length")?, needed("rise")?);
        let count = bore.len();
        let loss = numbers("loss", Dimension::NONE)?.unwrap_or_else(|| vec![0.0; count]);
        let fittings = match find("fittings") {
            Some((_, _, Value::Series(series))) => texts(series),
            _ => vec![String::new(); count],
        };
        let mut names = table.iter().find_map(|(name, ty, value)| match value {
            Value::Series(series) if *ty == series_of_texts() && name != "fittings" => {
                Some(texts(series))
            }
            _ => None,
        });
        let counted = || (1..=count).map(|at| format!("piece {at}")).collect();
        Ok(Self {
            bore: twice(bore),
            length: length.iter().flat_map(|length| [0.0, *length]).collect(),
            rise: rise.iter().flat_map(|rise| [0.0, *rise]).collect(),
            roughness: numbers("roughness", Dimension::LENGTH)?.map(twice),
            loss: loss.iter().flat_map(|loss| [*loss, 0.0]).collect(),
            fittings: fittings.into_iter().flat_map(|text| [text, String::new()]).collect(),
            cone: numbers("cone", Dimension::ANGLE)?.map(twice),
            names: names.take().unwrap_or_else(counted),
        })
    }
}

fn series_of_texts() -> forebay_sheet::Type {
    forebay_sheet::Type::Series(forebay_sheet::Scalar::Text)
}

fn sections(
    pieces: &Pieces,
    drawing: &Drawing,
    pond: f64,
    start: f64,
) -> Result<Vec<Section>, String> {
    let quantity = |key: &str, dimension: Dimension| {
        drawing.number(key).map(|si| Given::Quantity(Quantity::new(si, dimension)))
    };
    let fittings: Vec<&str> = pieces.fittings.iter().map(String::as_str).collect();
    let mut given: Vec<(&str, Given<'_>)> = vec![
        ("bore", Given::Series(&pieces.bore, Dimension::LENGTH)),
        ("length", Given::Series(&pieces.length, Dimension::LENGTH)),
        ("loss", Given::Series(&pieces.loss, Dimension::NONE)),
        ("fittings", Given::Texts(&fittings)),
        ("pond_level", Given::Quantity(Quantity::new(pond, Dimension::LENGTH))),
    ];
    given.extend(quantity("flow", Dimension::FLOW).map(|flow| ("flow", flow)));
    given.extend(quantity("temperature", Dimension::TEMPERATURE).map(|t| ("temperature", t)));
    match (&pieces.roughness, quantity("roughness", Dimension::LENGTH)) {
        (Some(column), _) => {
            given.push(("roughness", Given::Series(column, Dimension::LENGTH)));
        }
        (None, Some(one)) => given.push(("roughness", one)),
        // That of plastic is then taken, as everywhere.
        (None, None) => {}
    }
    if let Some(cone) = &pieces.cone {
        given.push(("cone", Given::Series(cone, Dimension::ANGLE)));
    }
    let profile = |name: &str| -> Result<Vec<f64>, String> {
        let formula = find(name).ok_or_else(|| format!("no formula `{name}`"))?;
        let levels = formula.call_for_series(&given);
        levels.map(|(levels, _)| levels).map_err(|error| error.to_string())
    };
    let (energy, pressure) = (profile("line_energy_profile")?, profile("line_profile")?);
    let (mut along, mut axis) = (0.0, start);
    let mut out = Vec::with_capacity(energy.len());
    for (at, (energy, pressure)) in energy.into_iter().zip(pressure).enumerate() {
        along += pieces.length.get(at).copied().unwrap_or(0.0);
        axis += pieces.rise.get(at).copied().unwrap_or(0.0);
        let bore = pieces.bore.get(at).copied().unwrap_or(0.0);
        out.push(Section { along, axis, bore, energy, pressure });
    }
    Ok(out)
}

/// Pressures of the air and of vapour, and the weight of the water by volume, all in SI.
fn water(drawing: &Drawing) -> Result<(f64, f64, f64), String> {
    /// 15 degC, as the formulas of lines take it.
    const USUAL: f64 = 288.15;
    let si = |name: &str, given: &[(&str, Quantity)]| {
        call(name, given).map(|outcome| outcome.value.si()).map_err(|error| error.to_string())
    };
    let temperature = drawing.number("temperature").unwrap_or(USUAL);
    let temperature = [("temperature", Quantity::new(temperature, Dimension::TEMPERATURE))];
    let altitude = drawing.number("altitude").unwrap_or(0.0);
    let altitude = [("altitude", Quantity::new(altitude, Dimension::LENGTH))];
    let air = si("atmospheric_pressure", &altitude)?;
    let air = air - drawing.number("weather_allowance").unwrap_or(0.0);
    let vapour = si("vapour_pressure", &temperature)?;
    let weight = si("water_density", &temperature)? * si("standard_gravity", &[])?;
    Ok((air, vapour, weight))
}

fn metre() -> Unit {
    Unit::parse("m").unwrap_or(Unit::ONE)
}

/// An absolute pressure in the unit that goes with the unit of the levels.
fn pressure_in_words(si: f64, level: &Unit) -> String {
    let symbol = if level.is_customary() { "psia" } else { "kPa_abs" };
    let unit = Unit::parse(symbol).unwrap_or(Unit::ONE);
    format_in(si, &unit, 3).unwrap_or_default()
}
