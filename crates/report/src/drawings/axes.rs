//! Axes: round steps of 1, 2 and 5, their numbers and units, dates, and the frame they make.

use super::svg::{Anchor, Heading, LINE, SMALL, Stroke, Svg, width_of};

/// How wide every drawing is; its text then reads at 360 pixels and in print.
pub(crate) const WIDTH: f64 = 420.0;
/// How high the field between the axes is, as a rule.
pub(crate) const FIELD: f64 = 218.0;
/// Room above the field, for what stands at the vertical axis.
const ABOVE: f64 = 28.0;

/// One axis: its ends, the places with a number or a name, and what it is.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Axis {
    pub(crate) low: f64,
    pub(crate) high: f64,
    pub(crate) ticks: Vec<(f64, String)>,
    /// What it measures, with its unit.
    pub(crate) label: String,
    /// Whether its ticks are names, which stand between grid lines instead of on them.
    pub(crate) names: bool,
}

/// The field between two axes, ready to be drawn in.
pub(crate) struct Frame {
    pub(crate) svg: Svg,
    pub(crate) left: f64,
    pub(crate) right: f64,
    pub(crate) top: f64,
    pub(crate) bottom: f64,
    x: (f64, f64),
    y: (f64, f64),
}

impl Axis {
    /// An axis of numbers that ends at round numbers.
    pub(crate) fn rounded(label: String, numbers: impl Iterator<Item = f64>) -> Self {
        let (low, high) = ends(numbers);
        // Where zero is near, it is shown, so that heights can be compared.
        let low = if low > 0.0 && low <= 0.4 * high { 0.0 } else { low };
        let step = round_step((high - low) / 5.0);
        Self::stepped(label, (low / step).floor() * step, (high / step).ceil() * step, step)
    }

    /// An axis of numbers that begins at zero, as bars need.
    pub(crate) fn from_zero(label: String, numbers: impl Iterator<Item = f64>) -> Self {
        Self::rounded(label, numbers.chain([0.0]))
    }

    /// An axis of numbers that ends where they end.
    pub(crate) fn close(label: String, numbers: impl Iterator<Item = f64>) -> Self {
        let (low, high) = ends(numbers);
        Self::stepped(label, low, high, round_step((high - low) / 6.0))
    }

    fn stepped(label: String, low: f64, high: f64, step: f64) -> Self {
        // Half a step more, lest rounding loses the last one.
        let first = (low / step - 1e-9).ceil();
        let count = ((high - low) / step + 1.5).floor().clamp(0.0, 50.0);
        let ticks = (0..).map(|at| (first + f64::from(at)) * step).take(count as usize);
        let ticks = ticks.filter(|at| *at <= high + 1e-9 * step);
        let ticks = ticks.map(|at| (at, number(at, step))).collect();
        Self { low, high, ticks, label, names: false }
    }

    /// An axis of names, each one step wide.
    pub(crate) fn names(label: String, names: &[String]) -> Self {
        let ticks = names.iter().enumerate().map(|(at, name)| (at as f64, name.clone())).collect();
        Self { low: -0.5, high: names.len() as f64 - 0.5, ticks, label, names: true }
    }

    /// An axis of days, counted from any one day.
    pub(crate) fn dates(label: String, days: &[f64]) -> Self {
        let (low, high) = ends(days.iter().copied());
        Self { low, high, ticks: date_ticks(low, high), label, names: false }
    }
}

impl Frame {
    /// Draws the axes around a field of a height; `beside` is kept free to the right of it.
    pub(crate) fn new(
        heading: &Heading<'_>,
        (x, y): (&Axis, &Axis),
        beside: f64,
        field: f64,
    ) -> Self {
        let widest = |axis: &Axis| {
            axis.ticks.iter().map(|(_, text)| width_of(text, SMALL)).fold(0.0, f64::max)
        };
        let left = (widest(y) + 9.0).max(22.0);
        let right = WIDTH - beside.max(8.0);
        let pitch = (right - left) / (x.high - x.low).max(1e-12);
        let slanted = x.names && widest(x) + 4.0 > pitch && x.ticks.len() > 1;
        let shorter = |text: &str| -> String {
            let most = if slanted || !x.names { 16 } else { 40 };
            match text.char_indices().nth(most) {
                Some((at, _)) => format!("{}…", &text[..at]),
                None => text.to_owned(),
            }
        };
        let under = if slanted {
            0.72 * x.ticks.iter().map(|(_, t)| width_of(&shorter(t), SMALL)).fold(0.0, f64::max)
                + 12.0
        } else {
            LINE + 4.0
        };
        let named = if x.label.is_empty() { 0.0 } else { LINE + 3.0 };
        let (top, bottom) = (ABOVE, ABOVE + field);
        let height = bottom + under + named + 6.0;
        let svg = Svg::new(heading, WIDTH, height);
        let mut frame =
            Self { svg, left, right, top, bottom, x: (x.low, x.high), y: (y.low, y.high) };
        frame.svg.text(1.0, 13.0, Anchor::Start, &y.label);
        for (at, text) in &y.ticks {
            let height = frame.y(*at);
            frame.svg.line((left, height), (right, height), Stroke::GRID);
            frame.svg.small(left - 6.0, height + 4.0, Anchor::End, text);
        }
        // Every name, or as many as there is room for.
        let most = if slanted { ((right - left) / 15.0).floor() } else { f64::INFINITY };
        let every = (x.ticks.len() as f64 / most).ceil().max(1.0) as usize;
        let mut free = f64::NEG_INFINITY;
        for (at, text) in x.ticks.iter().step_by(every) {
            let place = frame.x(*at);
            if slanted {
                frame.svg.slanted(place + 4.0, bottom + 14.0, &shorter(text));
                continue;
            }
            if !x.names {
                frame.svg.line((place, bottom), (place, bottom + 4.0), Stroke::AXIS);
            }
            let half = width_of(text, SMALL) / 2.0;
            if place - half < free {
                continue;
            }
            free = place + half + 6.0;
            let within = place.clamp(half + 1.0, (WIDTH - half - 1.0).max(half + 1.0));
            frame.svg.small(within, bottom + LINE + 2.0, Anchor::Middle, &shorter(text));
        }
        frame.svg.line((left, bottom), (right, bottom), Stroke::AXIS);
        if !x.label.is_empty() {
            let label = bottom + under + LINE;
            frame.svg.text((left + right) / 2.0, label, Anchor::Middle, &x.label);
        }
        frame
    }

    /// Where a number of the horizontal axis lies.
    pub(crate) fn x(&self, value: f64) -> f64 {
        let (low, high) = self.x;
        self.left + (value - low) / (high - low) * (self.right - self.left)
    }

    /// Where a number of the vertical axis lies.
    pub(crate) fn y(&self, value: f64) -> f64 {
        let (low, high) = self.y;
        self.bottom - (value - low) / (high - low) * (self.bottom - self.top)
    }

    pub(crate) fn finish(self) -> String {
        self.svg.finish()
    }
}

/// A number at an axis, with the decimals that its step has.
pub(crate) fn number(value: f64, step: f64) -> String {
    let exponent = step.abs().log10().floor();
    if exponent < -5.0 || value.abs() >= 1e7 {
        return format!("{value:.1e}").replace('-', "−");
    }
    let places = (-exponent).clamp(0.0, 6.0) as usize;
    // Zero has no sign.
    let value = if value.abs() < step * 1e-6 { 0.0 } else { value };
    format!("{value:.places$}").replace('-', "−")
}

/// The least step of 1, 2 or 5 times a power of ten that is not smaller.
pub(crate) fn round_step(least: f64) -> f64 {
    if !(least.is_finite() && least > 0.0) {
        return 1.0;
    }
    let power = 10_f64.powf(least.log10().floor());
    let times = [1.0, 2.0, 5.0].into_iter().find(|times| times * power >= least * (1.0 - 1e-9));
    times.unwrap_or(10.0) * power
}

/// Least and greatest, apart from one another.
fn ends(numbers: impl Iterator<Item = f64>) -> (f64, f64) {
    let (low, high) = numbers
        .filter(|number| number.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), n| (low.min(n), high.max(n)));
    if low > high {
        return (0.0, 1.0);
    }
    if high - low > 1e-9 * low.abs().max(high.abs()) {
        return (low, high);
    }
    let around = if low == 0.0 { 1.0 } else { 0.05 * low.abs() };
    (low - around, high + around)
}

/// Days, months or years, whichever gives about six names.
fn date_ticks(low: f64, high: f64) -> Vec<(f64, String)> {
    let span = high - low;
    let mut ticks = Vec::new();
    if span <= 45.0 {
        let step = round_step(span / 5.0).max(1.0);
        let mut at = (low / step).ceil() * step;
        while at <= high {
            let (_, month, day) = civil(at);
            ticks.push((at, format!("{day} {}", MONTHS[(month - 1) as usize])));
            at += step;
        }
        return ticks;
    }
    let months = [1, 2, 3, 6].into_iter().find(|step| span / (30.44 * f64::from(*step)) <= 7.0);
    let years = round_step(span / 365.25 / 6.0).max(1.0) as i64;
    let step = months.map_or(12 * years, i64::from);
    let (year, month, _) = civil(low);
    let mut at = (year * 12 + i64::from(month) - 1).div_euclid(step) * step;
    loop {
        let (year, month) = (at.div_euclid(12), at.rem_euclid(12));
        let day = day_number(year, month + 1, 1);
        if day > high {
            return ticks;
        }
        if day >= low {
            let name = if month == 0 || step >= 12 {
                format!("{year}")
            } else {
                MONTHS[month as usize].to_owned()
            };
            ticks.push((day, name));
        }
        at += step;
    }
}

const MONTHS: [&str; 12] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/// The number of a day of the Gregorian calendar, counted from the first of March of the year 0.
pub(crate) fn day_number(year: i64, month: i64, day: i64) -> f64 {
    // Years begin in March, so that the leap day is the last one.
    let (year, month) = if month > 2 { (year, month - 3) } else { (year - 1, month + 9) };
    let leaps = year.div_euclid(4) - year.div_euclid(100) + year.div_euclid(400);
    (365 * year + leaps + (153 * month + 2) / 5 + day - 1) as f64
}

/// Year, month and day of a day's number.
fn civil(number: f64) -> (i64, u32, u32) {
    let number = number.floor();
    let mut year = (number / 365.2425).floor() as i64;
    while day_number(year + 1, 1, 1) <= number {
        year += 1;
    }
    while day_number(year, 1, 1) > number {
        year -= 1;
    }
    let month = (1..=12).rev().find(|m| day_number(year, *m, 1) <= number).unwrap_or(1);
    (year, month as u32, (number - day_number(year, month, 1)) as u32 + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(low: f64, high: f64, expected: &[&str]) {
        let axis = Axis::rounded(String::new(), [low, high].into_iter());
        let texts: Vec<&str> = axis.ticks.iter().map(|(_, text)| text.as_str()).collect();
        assert_eq!(texts, expected);
    }

    #[test]
    fn steps_are_round_and_zero_is_shown_where_it_is_near() {
        check(68.0, 410.0, &["0", "100", "200", "300", "400", "500"]);
        check(211.02, 212.55, &["211.0", "211.5", "212.0", "212.5", "213.0"]);
        check(-0.3, 0.2, &["−0.3", "−0.2", "−0.1", "0.0", "0.1", "0.2"]);
        check(3.0, 3.0, &["2.8", "2.9", "3.0", "3.1", "3.2"]);
        check(0.0, 0.0, &["−1.0", "−0.5", "0.0", "0.5", "1.0"]);
    }

    #[test]
    fn days_are_those_of_the_calendar() {
        // 2000-03-01 follows a leap day and 1900-03-01 none (Gregorian rule); 146097 days make
        // 400 years.
        assert_eq!(day_number(2000, 3, 1) - day_number(2000, 2, 28), 2.0);
        assert_eq!(day_number(1900, 3, 1) - day_number(1900, 2, 28), 1.0);
        assert_eq!(day_number(2023, 1, 1) - day_number(1623, 1, 1), 146_097.0);
        assert_eq!(civil(day_number(2024, 2, 29)), (2024, 2, 29));
        assert_eq!(civil(day_number(1999, 12, 31)), (1999, 12, 31));
        let year = date_ticks(day_number(2023, 11, 15), day_number(2024, 11, 14));
        let names: Vec<&str> = year.iter().map(|(_, name)| name.as_str()).collect();
        assert_eq!(names, ["2024", "Mar", "May", "Jul", "Sep", "Nov"]);
    }
}
