//! A small plot in characters: points over a frame with the ends of both axes written out.

/// Which letters a drawing may use.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Letters {
    /// ASCII alone.
    Ascii,
    /// Lines and dots of Unicode.
    Unicode,
}

/// A point of a plot.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Point {
    pub(crate) x: f64,
    pub(crate) y: f64,
    /// Whether it is drawn as one where a check fails.
    pub(crate) bad: bool,
}

/// What stands at the ends of the axes.
pub(crate) struct Ends {
    pub(crate) low: String,
    pub(crate) high: String,
    pub(crate) left: String,
    pub(crate) right: String,
}

const HEIGHT: usize = 9;
const WIDEST: usize = 60;

/// The lines of a plot that is at most `room` columns wide; none where there is nothing to draw.
pub(crate) fn plot(points: &[Point], ends: &Ends, letters: Letters, room: usize) -> Vec<String> {
    let (dot, cross, side, corner, floor) = match letters {
        Letters::Unicode => ('•', '×', '│', '└', '─'),
        Letters::Ascii => ('*', 'x', '|', '+', '-'),
    };
    let margin = ends.low.chars().count().max(ends.high.chars().count());
    let wide = room.saturating_sub(margin + 4).min(WIDEST);
    let span = |of: fn(&Point) -> f64| {
        let low = points.iter().map(of).fold(f64::INFINITY, f64::min);
        let high = points.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
        (low, high)
    };
    let ((left, right), (low, high)) = (span(|p| p.x), span(|p| p.y));
    if points.len() < 2 || wide < 10 || right <= left {
        return Vec::new();
    }
    let mut field = vec![vec![' '; wide]; HEIGHT];
    // Good points first, so that a bad one in the same place is seen.
    for bad in [false, true] {
        for point in points.iter().filter(|point| point.bad == bad) {
            let column = place(point.x, left, right, wide);
            let row = HEIGHT - 1 - place(point.y, low, high, HEIGHT);
            field[row][column] = if bad { cross } else { dot };
        }
    }
    let mut lines = Vec::with_capacity(HEIGHT + 2);
    for (at, row) in field.iter().enumerate() {
        let label = match at {
            0 => ends.high.as_str(),
            _ if at + 1 == HEIGHT => ends.low.as_str(),
            _ => "",
        };
        let row: String = row.iter().collect();
        lines.push(format!("{label:>margin$} {side} {}", row.trim_end()).trim_end().to_owned());
    }
    let line: String = std::iter::repeat_n(floor, wide + 1).collect();
    lines.push(format!("{:margin$} {corner}{line}", ""));
    let gap = wide.saturating_sub(ends.left.chars().count() + ends.right.chars().count()).max(1);
    lines.push(format!("{:margin$}   {}{}{}", "", ends.left, " ".repeat(gap), ends.right));
    lines
}

/// The cell from 0 to `cells - 1` that a number falls into.
fn place(number: f64, low: f64, high: f64, cells: usize) -> usize {
    let share = if high > low { (number - low) / (high - low) } else { 0.5 };
    // A share from 0 to 1 times a small number.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let at = (share * (cells - 1) as f64).round() as usize;
    at.min(cells - 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_line_runs_from_corner_to_corner() {
        let points: Vec<Point> =
            (0..5).map(|i| Point { x: f64::from(i), y: f64::from(i), bad: i == 4 }).collect();
        let ends = |text: &str| text.to_owned();
        let ends = Ends { low: ends("0"), high: ends("4 m"), left: ends("0"), right: ends("4 s") };
        let lines = plot(&points, &ends, Letters::Ascii, 20);
        assert_eq!(lines.first().unwrap(), "4 m |             x", "{lines:#?}");
        assert_eq!(lines[HEIGHT - 1], "  0 | *");
        assert_eq!(lines[HEIGHT], "    +--------------");
        assert_eq!(lines[HEIGHT + 1], "      0         4 s");
        assert!(lines.iter().all(|line| line.is_ascii()));
        assert!(plot(&points[..1], &ends, Letters::Ascii, 20).is_empty());
    }
}
