//! SVG as it grows: lines, areas, marks and real text, in the reader's own colour.
//!
//! Nothing but presentation attributes is written, so that a page may forbid styles and scripts.
//! Lengths are units of the drawing's own view box.

use crate::markup::escaped;

/// The size of ordinary text.
pub(crate) const TEXT: f64 = 13.0;
/// The size of the numbers at an axis.
pub(crate) const SMALL: f64 = 12.0;
/// The distance between two lines of text.
pub(crate) const LINE: f64 = 15.0;

/// A drawing as it grows.
pub(crate) struct Svg {
    out: String,
}

/// What a drawing says of itself to those who cannot see it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Heading<'a> {
    /// A name that no other drawing of the page has.
    pub(crate) name: &'a str,
    pub(crate) title: &'a str,
    pub(crate) description: &'a str,
}

/// Which end of a text its place is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// How a line looks. Each can be told from the others without colour.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Stroke {
    width: f64,
    dashes: &'static str,
    opacity: f64,
}

/// A sign at a point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Mark {
    Dot,
    Ring,
    Square,
    Triangle,
    Cross,
}

/// How an area looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Fill {
    /// A grey of this darkness, from 0 to 1.
    Grey(f64),
    /// The outline alone.
    Outline,
}

impl Stroke {
    pub(crate) const SOLID: Self = Self { width: 1.8, dashes: "", opacity: 1.0 };
    pub(crate) const DASHED: Self = Self { width: 1.8, dashes: "7 4", opacity: 1.0 };
    pub(crate) const DOTTED: Self = Self { width: 1.8, dashes: "1.5 3.5", opacity: 1.0 };
    pub(crate) const DASH_DOT: Self = Self { width: 1.8, dashes: "9 3 2 3", opacity: 1.0 };
    pub(crate) const LONG: Self = Self { width: 1.2, dashes: "14 5", opacity: 1.0 };
    pub(crate) const GRID: Self = Self { width: 0.7, dashes: "", opacity: 0.22 };
    pub(crate) const AXIS: Self = Self { width: 1.0, dashes: "", opacity: 0.8 };
    pub(crate) const HEAVY: Self = Self { width: 3.2, dashes: "", opacity: 1.0 };

    /// The look of the curve of this number.
    pub(crate) fn of_curve(at: usize) -> Self {
        [Self::SOLID, Self::DASHED, Self::DOTTED, Self::DASH_DOT, Self::LONG][at % 5]
    }
}

impl Mark {
    /// The sign of the curve of this number.
    pub(crate) fn of_curve(at: usize) -> Self {
        [Self::Dot, Self::Ring, Self::Square, Self::Triangle, Self::Cross][at % 5]
    }
}

impl Fill {
    /// The look of the bars of this number.
    pub(crate) fn of_bars(at: usize) -> Self {
        [Self::Grey(0.62), Self::Grey(0.14), Self::Grey(0.36), Self::Outline, Self::Grey(0.85)]
            [at % 5]
    }
}

impl Svg {
    /// An empty drawing.
    pub(crate) fn new(heading: &Heading<'_>, width: f64, height: f64) -> Self {
        let id = id(heading.name);
        let (width, height) = (short(width), short(height));
        let out = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" \
             role=\"img\" aria-labelledby=\"{id}-title {id}-desc\" \
             font-family=\"system-ui, sans-serif\" font-size=\"{}\" fill=\"currentColor\">\n\
             <title id=\"{id}-title\">{}</title>\n<desc id=\"{id}-desc\">{}</desc>\n",
            short(TEXT),
            escaped(heading.title),
            escaped(heading.description),
        );
        Self { out }
    }

    pub(crate) fn finish(mut self) -> String {
        self.out.push_str("</svg>\n");
        self.out
    }

    /// A text at its ordinary size.
    pub(crate) fn text(&mut self, x: f64, y: f64, anchor: Anchor, text: &str) {
        self.sized_text(x, y, anchor, TEXT, text);
    }

    /// A number at an axis.
    pub(crate) fn small(&mut self, x: f64, y: f64, anchor: Anchor, text: &str) {
        self.sized_text(x, y, anchor, SMALL, text);
    }

    fn sized_text(&mut self, x: f64, y: f64, anchor: Anchor, size: f64, text: &str) {
        let anchor = match anchor {
            Anchor::Start => "",
            Anchor::Middle => " text-anchor=\"middle\"",
            Anchor::End => " text-anchor=\"end\"",
        };
        let size = if size == TEXT { String::new() } else { format!(" font-size=\"{size}\"") };
        let (x, y) = (short(x), short(y));
        self.out.push_str(&format!(
            "<text x=\"{x}\" y=\"{y}\"{anchor}{size}>{}</text>\n",
            escaped(text)
        ));
    }

    /// A text over lines, with a rim in the colour of the page (where the reader knows that colour),
    /// so that it can be read.
    pub(crate) fn plated_text(&mut self, x: f64, y: f64, anchor: Anchor, text: &str) {
        let before = self.out.len();
        self.text(x, y, anchor, text);
        let rim = " stroke=\"Canvas\" stroke-width=\"4\" stroke-linejoin=\"round\" \
                   paint-order=\"stroke\"";
        self.out.insert_str(before + "<text".len(), rim);
    }

    /// A text that rises to its end at 45 degrees.
    pub(crate) fn slanted(&mut self, x: f64, y: f64, text: &str) {
        let (x, y) = (short(x), short(y));
        self.out.push_str(&format!(
            "<text x=\"{x}\" y=\"{y}\" text-anchor=\"end\" font-size=\"{SMALL}\" \
             transform=\"rotate(-45 {x} {y})\">{}</text>\n",
            escaped(text)
        ));
    }

    pub(crate) fn line(&mut self, from: (f64, f64), to: (f64, f64), stroke: Stroke) {
        self.path(&[from, to], stroke);
    }

    /// A line through points; it is broken where one of them is no number.
    pub(crate) fn path(&mut self, points: &[(f64, f64)], stroke: Stroke) {
        let mut path = String::new();
        let mut down = false;
        for (x, y) in points {
            if !(x.is_finite() && y.is_finite()) {
                down = false;
                continue;
            }
            path.push_str(&format!("{}{} {}", if down { "L" } else { "M" }, short(*x), short(*y)));
            down = true;
        }
        if path.is_empty() {
            return;
        }
        let dashes = match stroke.dashes {
            "" => String::new(),
            dashes => format!(" stroke-dasharray=\"{dashes}\""),
        };
        let opacity = match stroke.opacity {
            full if full >= 1.0 => String::new(),
            part => format!(" stroke-opacity=\"{part}\""),
        };
        self.out.push_str(&format!(
            "<path d=\"{path}\" fill=\"none\" stroke=\"currentColor\" stroke-width=\"{}\"\
             {dashes}{opacity} stroke-linejoin=\"round\"/>\n",
            stroke.width
        ));
    }

    /// An area within points.
    pub(crate) fn area(&mut self, points: &[(f64, f64)], fill: Fill) {
        let points: Vec<String> =
            points.iter().map(|(x, y)| format!("{} {}", short(*x), short(*y))).collect();
        self.out.push_str(&format!("<path d=\"M{}Z\"{}/>\n", points.join("L"), paint(fill)));
    }

    /// A rectangle from one corner to the opposite one.
    pub(crate) fn rectangle(&mut self, from: (f64, f64), to: (f64, f64), fill: Fill) {
        let (x, y) = (from.0.min(to.0), from.1.min(to.1));
        let (wide, high) = ((from.0 - to.0).abs(), (from.1 - to.1).abs());
        self.out.push_str(&format!(
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"{}/>\n",
            short(x),
            short(y),
            short(wide),
            short(high),
            paint(fill)
        ));
    }

    pub(crate) fn mark(&mut self, (x, y): (f64, f64), mark: Mark) {
        if !(x.is_finite() && y.is_finite()) {
            return;
        }
        let (left, right) = (short(x - 3.4), short(x + 3.4));
        let (above, below) = (short(y - 3.4), short(y + 3.4));
        let open = "fill=\"none\" stroke=\"currentColor\" stroke-width=\"1.4\"";
        let sign = match mark {
            Mark::Dot => format!("<circle cx=\"{}\" cy=\"{}\" r=\"2.8\"/>", short(x), short(y)),
            Mark::Ring => {
                format!("<circle cx=\"{}\" cy=\"{}\" r=\"3.2\" {open}/>", short(x), short(y))
            }
            Mark::Square => {
                format!("<rect x=\"{left}\" y=\"{above}\" width=\"6.8\" height=\"6.8\" {open}/>")
            }
            Mark::Triangle => format!(
                "<path d=\"M{} {above}L{right} {below}L{left} {below}Z\" {open}/>",
                short(x)
            ),
            Mark::Cross => format!(
                "<path d=\"M{left} {above}L{right} {below}M{left} {below}L{right} {above}\" \
                 {open}/>"
            ),
        };
        self.out.push_str(&sign);
        self.out.push('\n');
    }
}

/// What the parts of a drawing are called on a page.
fn id(name: &str) -> String {
    let sound = |letter: char| if letter.is_ascii_alphanumeric() { letter } else { '-' };
    format!("drawing-{}", name.chars().map(sound).collect::<String>())
}

fn paint(fill: Fill) -> String {
    match fill {
        Fill::Grey(darkness) => {
            let line = " stroke=\"currentColor\" stroke-width=\"0.8\"";
            format!(" fill-opacity=\"{darkness}\"{line}")
        }
        Fill::Outline => " fill=\"none\" stroke=\"currentColor\" stroke-width=\"1.2\"".to_owned(),
    }
}

/// How wide a text is, about: letters of common typefaces are at most 0.6 as wide as high, on average.
pub(crate) fn width_of(text: &str, size: f64) -> f64 {
    0.6 * size * crate::page::width(text) as f64
}

/// A coordinate to a tenth of a unit, which is finer than a printer's dot at this size.
fn short(number: f64) -> String {
    let text = format!("{number:.1}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}
