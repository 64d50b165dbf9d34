//! A pipe line as its pieces: read from the columns of a table, with what each piece loses.

use std::f64::consts::PI;

use forebay_units::Dimension;

use crate::fittings::{contraction, expansion};
use crate::formula::{Argument, Kind, Parameter, Refusal};
use crate::friction::{LAMINAR, TURBULENT, friction_factor};
use crate::line_fittings;
use crate::pipes::{circle_area, velocity_head};

/// A table of more rows is no pipe line, and a search for its flow would take too long.
const MOST_PIECES: usize = 10_000;

/// Bores of the pieces.
pub(crate) const BORE: Parameter = Parameter::of_kind(
    "bore",
    Kind::Series(Dimension::LENGTH),
    "inside diameter of each piece, in the direction of flow",
)
.positive()
.column();

/// Lengths of the pieces.
pub(crate) const LENGTH: Parameter = Parameter::of_kind(
    "length",
    Kind::Series(Dimension::LENGTH),
    "length of each piece along its axis",
)
.not_negative()
.column();

/// By how much the axis rises along each piece.
pub(crate) const RISE: Parameter = Parameter::of_kind(
    "rise",
    Kind::Series(Dimension::LENGTH),
    "by how much the axis rises from the beginning of the piece to its end; below zero it falls",
)
.column();

/// Roughness of the pieces, that of plastic unless given.
pub(crate) const ROUGHNESS: Parameter = Parameter::of_kind(
    "roughness",
    Kind::Series(Dimension::LENGTH),
    "equivalent sand roughness of each piece; 0.007 mm unless given, the upper end of new plastic \
     pipe (from memory); new steel 0.045 mm, rusted steel 0.15 to 1 mm",
)
.not_negative()
.column()
.or(0.007e-3);

/// Loss coefficients that are known as numbers.
pub(crate) const LOSS: Parameter = Parameter::of_kind(
    "loss",
    Kind::Series(Dimension::NONE),
    "sum of the piece's loss coefficients on its own velocity, beside those of `fittings`; 0 \
     unless given",
)
.not_negative()
.column()
.or(0.0);

/// Fittings by name and count.
pub(crate) const FITTINGS: Parameter = Parameter::of_kind(
    "fittings",
    Kind::Texts,
    "fittings of each piece by count and name, such as \"flush + 2 elbow + gate_valve\", on the \
     piece's own velocity: the entrances of entrance_loss_coefficient, the fittings of \
     fitting_loss_coefficient, and exit. No entrance and no exit is counted that is not named",
)
.column()
.or(0.0);

/// How the bore changes at the beginning of each piece.
pub(crate) const CONE: Parameter = Parameter::of_kind(
    "cone",
    Kind::Series(Dimension::ANGLE),
    "full angle of the cone by which the bore of the piece before changes into this one; 180° \
     unless given: a sudden change. Borda and Carnot where it widens, Crane where it narrows and \
     for cones. No matter where the bore stays the same",
)
.within(0.0, PI)
.column()
.or(PI);

/// One piece; coherent SI.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Piece {
    pub(crate) bore: f64,
    pub(crate) length: f64,
    pub(crate) rise: f64,
    roughness: f64,
    /// Coefficients of fittings and of the change of bore at the beginning, on the own velocity.
    local: f64,
}

/// Water at its temperature in the field of gravity: what friction depends on.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Water {
    pub(crate) viscosity: f64,
    pub(crate) gravity: f64,
}

impl Piece {
    pub(crate) fn area(&self) -> f64 {
        circle_area(self.bore)
    }

    pub(crate) fn velocity(&self, flow: f64) -> f64 {
        flow / self.area()
    }

    /// V²/2g.
    pub(crate) fn velocity_head(&self, flow: f64, water: Water) -> f64 {
        velocity_head(self.velocity(flow), water.gravity)
    }

    /// Lost at the change of bore and in the fittings.
    pub(crate) fn local_loss(&self, flow: f64, water: Water) -> f64 {
        self.local * self.velocity_head(flow, water)
    }

    /// All that is lost in the piece.
    pub(crate) fn loss(&self, flow: f64, water: Water) -> f64 {
        if flow == 0.0 {
            // Without flow there is no Reynolds number either.
            return 0.0;
        }
        let reynolds = self.reynolds(flow, water);
        let f = friction_factor(reynolds, self.roughness / self.bore);
        (f * self.length / self.bore + self.local) * self.velocity_head(flow, water)
    }

    fn reynolds(&self, flow: f64, water: Water) -> f64 {
        self.velocity(flow) * self.bore / water.viscosity
    }

    /// Fall over horizontal run; nothing where the piece does not fall. A plumb piece gives
    /// infinity.
    pub(crate) fn fall(&self) -> Option<f64> {
        let run = (self.length.powi(2) - self.rise.powi(2)).max(0.0).sqrt();
        (self.rise < 0.0).then(|| -self.rise / run)
    }
}

/// What no source vouches for: a piece with friction between laminar and turbulent flow.
pub(crate) fn between_regimes(line: &[Piece], flow: f64, water: Water) -> Option<&'static str> {
    let doubtful = |piece: &Piece| {
        let reynolds = piece.reynolds(flow, water);
        piece.length > 0.0 && reynolds > LAMINAR && reynolds < TURBULENT
    };
    line.iter().any(doubtful).then_some(
        "Reynolds number below 2000 or above 4000 in each piece: between them the friction may be \
         either's",
    )
}

/// The line of the columns bore, length, roughness, loss, fittings and cone, and the arguments
/// behind them.
pub(crate) fn line<'a, 'b>(
    arguments: &'b [Argument<'a>],
) -> Result<(Vec<Piece>, &'b [Argument<'a>]), Refusal> {
    let [bore, length, roughness, loss, fittings, cone, rest @ ..] = arguments else {
        return Err(Refusal("the columns of the line: expected".to_owned()));
    };
    let level = Argument::Number(0.0);
    Ok((pieces([bore, length, &level, roughness, loss, cone], fittings)?, rest))
}

/// The same with the column rise, which stands behind length.
pub(crate) fn rising_line<'a, 'b>(
    arguments: &'b [Argument<'a>],
) -> Result<(Vec<Piece>, &'b [Argument<'a>]), Refusal> {
    let [bore, length, rise, roughness, loss, fittings, cone, rest @ ..] = arguments else {
        return Err(Refusal("the columns of the line: expected".to_owned()));
    };
    Ok((pieces([bore, length, rise, roughness, loss, cone], fittings)?, rest))
}

/// The shape alone: the columns bore, length and rise.
pub(crate) fn shape<'a, 'b>(
    arguments: &'b [Argument<'a>],
) -> Result<(Vec<Piece>, &'b [Argument<'a>]), Refusal> {
    let [bore, length, rise, rest @ ..] = arguments else {
        return Err(Refusal("bore, length and rise: expected".to_owned()));
    };
    let none = Argument::Number(0.0);
    Ok((pieces([bore, length, rise, &none, &none, &none], &none)?, rest))
}

/// The numbers behind the columns.
pub(crate) fn numbers<const N: usize>(rest: &[Argument<'_>]) -> Result<[f64; N], Refusal> {
    let mut found = [f64::NAN; N];
    if rest.len() != N {
        return Err(Refusal(format!("expected {N} arguments behind the line's columns")));
    }
    for (place, argument) in found.iter_mut().zip(rest) {
        let Argument::Number(value) = argument else {
            return Err(Refusal("behind the line's columns: expected numbers".to_owned()));
        };
        *place = *value;
    }
    Ok(found)
}

/// Columns in the order bore, length, rise, roughness, loss, cone.
fn pieces(columns: [&Argument<'_>; 6], fittings: &Argument<'_>) -> Result<Vec<Piece>, Refusal> {
    const NAMES: [&str; 6] = ["bore", "length", "rise", "roughness", "loss", "cone"];
    let rows = |argument: &Argument<'_>| match argument {
        Argument::Number(_) => None,
        Argument::Series(values) => Some(values.len()),
        Argument::Texts(texts) => Some(texts.len()),
    };
    let count = columns.iter().chain([&fittings]).find_map(|column| rows(column)).unwrap_or(1);
    for (name, column) in NAMES.iter().zip(columns).chain([(&"fittings", fittings)]) {
        if rows(column).is_some_and(|found| found != count) {
            return Err(Refusal(format!("{name}: has not as many values as the other columns")));
        }
    }
    if count == 0 {
        return Err(Refusal("bore: the line has no piece".to_owned()));
    }
    if count > MOST_PIECES {
        return Err(Refusal(format!("bore: a line has at most {MOST_PIECES} pieces")));
    }
    let mut line: Vec<Piece> = Vec::with_capacity(count);
    for row in 0..count {
        let of = |column: &Argument<'_>| match column {
            Argument::Number(value) => *value,
            Argument::Series(values) => values.get(row).copied().unwrap_or(f64::NAN),
            Argument::Texts(_) => f64::NAN,
        };
        let [bore, length, rise, roughness, loss, cone] = columns.map(of);
        // Levels have been subtracted: a plumb piece may seem longer in the last digits.
        if rise.abs() > length * (1.0 + 1e-9) {
            return Err(Refusal(format!(
                "rise: piece {} rises or falls by more than its length",
                row + 1
            )));
        }
        let text = match fittings {
            Argument::Texts(texts) => texts.get(row).copied().unwrap_or(""),
            _ => "",
        };
        let fitted = line_fittings::coefficient(text, bore)
            .map_err(|why| Refusal(format!("fittings: piece {}: {why}", row + 1)))?;
        let change = line.last().map_or(0.0, |before| change(before.bore, bore, cone));
        line.push(Piece { bore, length, rise, roughness, local: loss + fitted + change });
    }
    Ok(line)
}

/// Coefficient of a change of bore on the velocity behind it.
fn change(before: f64, bore: f64, cone: f64) -> f64 {
    let half = (cone / 2.0).sin();
    if bore > before {
        // Borda and Carnot on the velocity before, brought to the one behind; Crane's cone.
        let part = if cone <= PI / 4.0 { (2.6 * half).min(1.0) } else { 1.0 };
        expansion(before, bore) * part * (bore / before).powi(4)
    } else {
        let part = if cone <= PI / 4.0 { 1.6 * half } else { half.sqrt() };
        contraction(before, bore) * part
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_widening_is_borda_and_carnot_on_the_velocity_behind() {
        // (V₁ − V₂)²/2g over V₂²/2g is (A₂/A₁ − 1)².
        assert!((change(0.06, 0.09, PI) - (2.25_f64 - 1.0).powi(2)).abs() < 1e-12);
        assert!((change(0.2, 0.1, PI) - 0.375).abs() < 1e-12);
        assert_eq!(change(0.2, 0.2, PI), 0.0);
    }

    #[test]
    fn cones_are_cranes() {
        // 0.8 sin(θ/2) (1 − β²) up to 45°, 0.5 √sin(θ/2) (1 − β²) above.
        let thirty = PI / 6.0;
        assert!((change(0.2, 0.1, thirty) - 0.8 * (thirty / 2.0).sin() * 0.75).abs() < 1e-12);
        let sixty = PI / 3.0;
        assert!((change(0.2, 0.1, sixty) - 0.5 * 0.5_f64.sqrt() * 0.75).abs() < 1e-12);
        let six = 6.0 * PI / 180.0;
        let on_inlet = change(0.2, 0.3, six) / 1.5_f64.powi(4);
        assert!((on_inlet - 0.041_997_99).abs() < 1e-7, "{on_inlet}: fluids 1.3.1");
    }

    #[test]
    fn columns_of_unlike_length_and_unlikely_pieces_are_refused() {
        let zero = Argument::Number(0.0);
        let refused = |bore: &[f64], rise: &[f64]| {
            let columns = [Argument::Series(bore), Argument::Number(2.0), Argument::Series(rise)];
            shape(&columns).expect_err("refused").0
        };
        assert!(refused(&[0.1, 0.2], &[1.0]).starts_with("rise: has not as many"));
        assert!(refused(&[0.1], &[-2.1]).contains("piece 1 rises or falls"));
        assert!(refused(&[], &[]).contains("no piece"));
        let many = vec![0.1; MOST_PIECES + 1];
        assert!(refused(&many, &many).contains("at most"));
        let fine = [Argument::Number(0.1), zero, zero];
        assert_eq!(shape(&fine).expect("one piece").0.len(), 1);
    }
}
