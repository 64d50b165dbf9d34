//! Curves, and points alone: each with its name at its end and a look of its own.

use forebay_sheet::{Drawing, Sheet};

use super::axes::{Axis, FIELD, Frame};
use super::data::Plot;
use super::svg::{Anchor, LINE, Mark, Stroke, TEXT, width_of};
use super::{Picture, heading};

/// A name beside a curve is broken into lines of at most so many letters.
const LETTERS: usize = 13;
/// The sample of its line before each name.
const SAMPLE: f64 = 20.0;
/// Curves of more points have no signs on them, which would run into one another.
const MOST_SIGNS: usize = 40;
/// Curves of more points are thinned; no screen and no printer shows more.
const MOST_POINTS: usize = 1600;

pub(crate) fn paint_lines(drawing: &Drawing, sheet: &mut Sheet) -> Result<Picture, String> {
    let plot = Plot::of(drawing, sheet, "x", "y")?;
    let axis = Axis::rounded(plot.y_label.clone(), all(&plot));
    // A curve over a range is computed everywhere; signs would say that it was measured there.
    Ok(paint(drawing, &plot, &axis, true, drawing.over.is_none()))
}

pub(crate) fn paint_points(drawing: &Drawing, sheet: &mut Sheet) -> Result<Picture, String> {
    let plot = Plot::of(drawing, sheet, "x", "y")?;
    let axis = Axis::rounded(plot.y_label.clone(), all(&plot));
    Ok(paint(drawing, &plot, &axis, false, true))
}

/// All numbers of all curves.
pub(crate) fn all(plot: &Plot) -> impl Iterator<Item = f64> + '_ {
    plot.curves.iter().flat_map(|curve| curve.values.iter().copied())
}

/// Draws curves in a frame, or their points alone.
pub(crate) fn paint(
    drawing: &Drawing,
    plot: &Plot,
    y: &Axis,
    joined: bool,
    signs: bool,
) -> Picture {
    let description = plot.description();
    let several = plot.curves.len() > 1;
    let names: Vec<Vec<String>> =
        plot.curves.iter().map(|curve| broken(&curve.label, LETTERS)).collect();
    // One curve alone is named at its axis.
    let beside = if several { room_for_names(names.iter()) } else { 14.0 };
    let x = plot.places.axis(joined);
    let mut frame = Frame::new(&heading(drawing, &description), (&x, y), beside, FIELD);
    let positions = plot.places.positions();
    let mut ends = Vec::new();
    for (at, curve) in plot.curves.iter().enumerate() {
        let points: Vec<(f64, f64)> = if curve.level {
            let height = curve.values.first().map_or(f64::NAN, |value| frame.y(*value));
            vec![(frame.left, height), (frame.right, height)]
        } else {
            let places = positions.iter().zip(&curve.values);
            places.map(|(x, y)| (frame.x(*x), frame.y(*y))).collect()
        };
        let few = points.len() <= MOST_SIGNS;
        if joined || curve.level {
            frame.svg.path(&thinned(&points), Stroke::of_curve(at));
        }
        if !curve.level && (!joined || (signs && few)) {
            for point in thinned(&points) {
                frame.svg.mark(point, Mark::of_curve(at));
            }
        } else if !curve.level {
            lonely(&mut frame, &points);
        }
        let last = points.iter().rev().find(|(_, y)| y.is_finite());
        ends.push(last.copied().unwrap_or((frame.right, frame.bottom)));
    }
    if several {
        let named: Vec<Named> = (0..plot.curves.len())
            .map(|at| {
                let curve = &plot.curves[at];
                let signed =
                    !curve.level && (!joined || (signs && curve.values.len() <= MOST_SIGNS));
                Named {
                    lines: names[at].clone(),
                    end: ends[at].1,
                    stroke: (joined || curve.level).then(|| Stroke::of_curve(at)),
                    mark: signed.then(|| Mark::of_curve(at)),
                }
            })
            .collect();
        name_curves(&mut frame, &named);
    }
    Picture { svg: frame.finish(), table: plot.table() }
}

/// The name of a curve, which stands beside its end.
pub(crate) struct Named {
    pub(crate) lines: Vec<String>,
    /// How high the curve ends.
    pub(crate) end: f64,
    pub(crate) stroke: Option<Stroke>,
    pub(crate) mark: Option<Mark>,
}

/// The room that names need to the right of the field.
pub(crate) fn room_for_names<'a>(names: impl Iterator<Item = &'a Vec<String>>) -> f64 {
    let widest = names.flatten().map(|line| width_of(line, TEXT)).fold(0.0, f64::max);
    widest + SAMPLE + 14.0
}

/// Writes the names of curves to the right of the field, each with a sample of its line.
pub(crate) fn name_curves(frame: &mut Frame, named: &[Named]) {
    let ends: Vec<f64> = named.iter().map(|one| one.end).collect();
    let rows: Vec<usize> = named.iter().map(|one| one.lines.len()).collect();
    let places = spread(&ends, &rows, frame.top + 4.0, frame.bottom);
    let from = frame.right + 8.0;
    for (one, height) in named.iter().zip(places) {
        if let Some(stroke) = one.stroke {
            frame.svg.line((from, height), (from + SAMPLE - 5.0, height), stroke);
        }
        if let Some(mark) = one.mark {
            frame.svg.mark((from + (SAMPLE - 5.0) / 2.0, height), mark);
        }
        let first = height + 4.0 - (one.lines.len() as f64 - 1.0) * LINE / 2.0;
        for (row, line) in one.lines.iter().enumerate() {
            frame.svg.text(from + SAMPLE, first + row as f64 * LINE, Anchor::Start, line);
        }
    }
}

/// A value between two gaps would not be seen as a line.
fn lonely(frame: &mut Frame, points: &[(f64, f64)]) {
    let there =
        |at: Option<usize>| at.and_then(|at| points.get(at)).is_some_and(|(_, y)| y.is_finite());
    for (at, point) in points.iter().enumerate() {
        if point.1.is_finite() && !there(at.checked_sub(1)) && !there(Some(at + 1)) {
            frame.svg.mark(*point, Mark::Dot);
        }
    }
}

/// A text in lines of at most so many letters, longer words left whole up to twice that.
pub(crate) fn broken(text: &str, letters: usize) -> Vec<String> {
    let mut lines = crate::page::wrap(&crate::page::one_line(text), letters);
    if lines.len() > 3 {
        lines.truncate(3);
        if let Some(last) = lines.last_mut() {
            last.push('…');
        }
    }
    lines
}

/// Heights for names so that none lies on another: each as near to its curve's end as there is
/// room.
fn spread(ends: &[f64], rows: &[usize], top: f64, bottom: f64) -> Vec<f64> {
    let height = |at: usize| rows[at] as f64 * LINE + 3.0;
    let mut order: Vec<usize> = (0..ends.len()).collect();
    order.sort_by(|a, b| ends[*a].total_cmp(&ends[*b]));
    let mut places = ends.to_vec();
    let mut least = top;
    for at in &order {
        let half = height(*at) / 2.0;
        places[*at] = places[*at].max(least + half);
        least = places[*at] + half;
    }
    // What runs out below is pushed up again.
    let mut most = bottom + LINE;
    for at in order.iter().rev() {
        let half = height(*at) / 2.0;
        places[*at] = places[*at].min(most - half);
        most = places[*at] - half;
    }
    places
}

/// At most a few points for each place across the drawing: first, least, greatest and last.
fn thinned(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    if points.len() <= MOST_POINTS {
        return points.to_vec();
    }
    let size = points.len().div_ceil(MOST_POINTS / 4);
    let mut out = Vec::with_capacity(MOST_POINTS);
    for group in points.chunks(size) {
        let order = |a: &&usize, b: &&usize| group[**a].1.total_cmp(&group[**b].1);
        let told: Vec<usize> = (0..group.len()).filter(|at| group[*at].1.is_finite()).collect();
        let mut kept: Vec<usize> =
            [told.first(), told.iter().min_by(order), told.iter().max_by(order), told.last()]
                .into_iter()
                .flatten()
                .copied()
                .collect();
        // A gap is kept as a gap.
        kept.extend(group.iter().position(|(_, y)| !y.is_finite()));
        kept.sort_unstable();
        kept.dedup();
        out.extend(kept.into_iter().map(|at| group[at]));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_do_not_lie_on_one_another() {
        let places = spread(&[100.0, 101.0], &[1, 2], 20.0, 200.0);
        assert!(places[1] - places[0] >= 1.5 * LINE, "{places:?}");
        let low = spread(&[200.0, 200.0], &[1, 2], 20.0, 200.0);
        assert!(low.iter().all(|place| *place < 210.0), "{low:?}");
    }

    #[test]
    fn a_thinned_curve_keeps_its_peak_and_its_gap() {
        let mut points: Vec<(f64, f64)> = (0..100_000).map(|at| (f64::from(at), 1.0)).collect();
        points[51_234].1 = 9.0;
        points[70_000].1 = f64::NAN;
        let thin = thinned(&points);
        assert!(thin.len() < 2 * MOST_POINTS);
        assert!(thin.contains(&(51_234.0, 9.0)));
        assert!(thin.iter().any(|(_, y)| y.is_nan()));
    }
}
