//! Bars side by side in groups, with a key of their greys above; level lines across.

use forebay_sheet::{Drawing, Sheet};

use super::axes::{Axis, FIELD, Frame, WIDTH};
use super::data::{Curve, Plot, digits};
use super::lines::{all, broken};
use super::svg::{Anchor, Fill, LINE, Stroke, TEXT, width_of};
use super::{Picture, heading};

/// How much of its place a group of bars takes.
const GROUP: f64 = 0.76;
/// More groups are thinner than a printed line.
const MOST_GROUPS: usize = 120;
/// A name beside the field is broken into lines of at most so many letters.
const LETTERS: usize = 11;

pub(crate) fn paint(drawing: &Drawing, sheet: &mut Sheet) -> Result<Picture, String> {
    let plot = Plot::of(drawing, sheet, "x", "y")?;
    let (levels, bars): (Vec<&Curve>, Vec<&Curve>) =
        plot.curves.iter().partition(|curve| curve.level);
    if bars.is_empty() {
        return Err("none of its `y` is a series".to_owned());
    }
    let groups = plot.places.texts.len();
    if groups > MOST_GROUPS {
        return Err(format!(
            "{groups} groups of bars cannot be told apart: draw `lines`, or sum them up by month"
        ));
    }
    let y = Axis::from_zero(plot.y_label.clone(), all(&plot));
    let x = Axis::names(plot.places.label.clone(), &plot.places.texts);
    // Above the field where there is room, beside it else.
    let above: f64 = bars.iter().map(|curve| width_of(&curve.label, TEXT) + 27.0).sum();
    let above = above + width_of(&plot.y_label, TEXT) < WIDTH;
    let named = bars.iter().filter(|_| !above && bars.len() > 1);
    let names = levels.iter().chain(named).flat_map(|curve| broken(&curve.label, LETTERS));
    let widest = names.map(|line| width_of(&line, TEXT)).fold(0.0, f64::max);
    let beside = if widest > 0.0 { widest + if above { 10.0 } else { 24.0 } } else { 8.0 };
    let description = plot.description();
    let mut frame = Frame::new(&heading(drawing, &description), (&x, &y), beside, FIELD);
    let wide = GROUP / bars.len() as f64;
    for (at, curve) in bars.iter().enumerate() {
        for (place, value) in curve.values.iter().enumerate().filter(|(_, v)| v.is_finite()) {
            let left = place as f64 - GROUP / 2.0 + at as f64 * wide;
            let from = (frame.x(left), frame.y(0.0));
            let to = (frame.x(left + 0.92 * wide), frame.y(*value));
            frame.svg.rectangle(from, to, Fill::of_bars(at));
        }
    }
    for (at, curve) in levels.iter().enumerate() {
        let Some(value) = curve.values.first() else { continue };
        let height = frame.y(*value);
        let ends = ((frame.left, height), (frame.right, height));
        frame.svg.line(ends.0, ends.1, Stroke::of_curve(at + 1));
        for (row, line) in broken(&curve.label, LETTERS).iter().enumerate() {
            let height = height + 4.0 + row as f64 * LINE;
            frame.svg.text(frame.right + 5.0, height, Anchor::Start, line);
        }
    }
    if bars.len() > 1 && above {
        key(&mut frame, &bars);
    } else if bars.len() > 1 {
        key_beside(&mut frame, &bars);
    }
    Ok(Picture { svg: frame.finish(), table: plot.table() })
}

/// Which grey is which, from the right end of the line above the field.
fn key(frame: &mut Frame, bars: &[&Curve]) {
    let mut right = WIDTH - 2.0;
    for (at, curve) in bars.iter().enumerate().rev() {
        right -= width_of(&curve.label, TEXT);
        frame.svg.text(right, 13.0, Anchor::Start, &curve.label);
        frame.svg.rectangle((right - 15.0, 4.0), (right - 5.0, 14.0), Fill::of_bars(at));
        right -= 27.0;
    }
}

/// The same to the right of the field, from its top down.
fn key_beside(frame: &mut Frame, bars: &[&Curve]) {
    let (left, mut y) = (frame.right + 5.0, frame.top + 5.0);
    for (at, curve) in bars.iter().enumerate() {
        frame.svg.rectangle((left, y - 5.0), (left + 10.0, y + 5.0), Fill::of_bars(at));
        for line in broken(&curve.label, LETTERS) {
            frame.svg.text(left + 15.0, y + 4.5, Anchor::Start, &line);
            y += LINE;
        }
        y += 4.0;
    }
}

/// Bars that lie one under another, each from one number to another, with a name before it and its
/// amount at the right.
pub(crate) struct Lying {
    pub(crate) name: String,
    pub(crate) from: f64,
    pub(crate) to: f64,
    /// What stands at the right.
    pub(crate) amount: String,
    pub(crate) fill: Fill,
}

/// Draws lying bars over an axis.
pub(crate) fn paint_lying(
    drawing: &Drawing,
    description: &str,
    axis: &Axis,
    bars: &[Lying],
) -> String {
    const PITCH: f64 = 27.0;
    const NAMES: usize = 17;
    let names: Vec<Vec<String>> = bars.iter().map(|bar| broken(&bar.name, NAMES)).collect();
    let widest = names.iter().flatten().map(|line| width_of(line, TEXT)).fold(0.0, f64::max);
    let amounts = bars.iter().map(|bar| width_of(&bar.amount, TEXT)).fold(0.0, f64::max);
    let left = widest + 8.0;
    let right = WIDTH - amounts - 12.0;
    let high = |lines: usize| PITCH.max(lines as f64 * LINE + 6.0);
    let field: f64 = names.iter().map(|lines| high(lines.len())).sum();
    let (top, bottom) = (6.0, 6.0 + field);
    let mut svg = super::svg::Svg::new(&heading(drawing, description), WIDTH, bottom + 40.0);
    let place = |value: f64| left + (value - axis.low) / (axis.high - axis.low) * (right - left);
    let mut free = f64::NEG_INFINITY;
    for (at, text) in &axis.ticks {
        let x = place(*at);
        svg.line((x, top), (x, bottom), Stroke::GRID);
        let half = width_of(text, super::svg::SMALL) / 2.0;
        if x - half >= free {
            svg.small(x, bottom + LINE, Anchor::Middle, text);
            free = x + half + 6.0;
        }
    }
    svg.text((left + right) / 2.0, bottom + 2.0 * LINE + 3.0, Anchor::Middle, &axis.label);
    svg.line((place(0.0), top), (place(0.0), bottom), Stroke::AXIS);
    let mut y = top;
    for (bar, lines) in bars.iter().zip(&names) {
        let high = high(lines.len());
        let middle = y + high / 2.0;
        let first = middle + 4.5 - (lines.len() as f64 - 1.0) * LINE / 2.0;
        for (row, line) in lines.iter().enumerate() {
            svg.text(left - 7.0, first + row as f64 * LINE, Anchor::End, line);
        }
        let (from, to) = (place(bar.from.min(bar.to)), place(bar.from.max(bar.to)));
        svg.rectangle((from, middle - 8.0), (to, middle + 8.0), bar.fill);
        svg.text(right + 10.0, middle + 4.5, Anchor::Start, &bar.amount);
        y += high;
    }
    svg.finish()
}

/// Writes amounts that stand under one another: each with the decimals that give the largest three
/// digits.
pub(crate) fn alike(largest: f64) -> impl Fn(f64) -> String {
    let before = if largest > 0.0 { largest.log10().floor() + 1.0 } else { 1.0 };
    let places = (3.0 - before).clamp(0.0, 9.0) as usize;
    move |amount| format!("{amount:.places$}").replace('-', "−")
}

/// A share of one in words: `12 %`, and `0.4 %` for what would else seem nothing.
pub(crate) fn percent(share: f64) -> String {
    let percent = 100.0 * share;
    if percent != 0.0 && percent.abs() < 0.95 {
        format!("{percent:.1} %")
    } else {
        format!("{percent:.0} %")
    }
}

/// A name and its amount in a table.
pub(crate) fn row(name: &str, amount: f64) -> Vec<String> {
    vec![name.to_owned(), digits(amount)]
}
