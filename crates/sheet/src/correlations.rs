//! How the uncertainties of knowns hang together: the matrix of their correlation coefficients and
//! its triangular factor.

use std::collections::HashMap;

pub(crate) use crate::bounds::MOST_TIED;

/// Coefficients are written with a few digits, and singular matrices are common: two knowns read
/// with one instrument are one cause. What falls short of zero by less is taken for zero.
const ROUNDING: f64 = 1e-9;

/// How the uncertainties of knowns hang together (JCGM 100:2008, 5.2 and F.1.2).
///
/// ```
/// use forebay_sheet::Sheet;
///
/// let sheet = Sheet::open(
///     "forebay: 1
/// known:
///   pond: { is: 103.4 m, plus_minus: 2 cm }
///   tail: { is: 100.1 m, plus_minus: 2 cm }
/// work:
///   head: pond - tail
/// tied:
///   one_staff: [pond, tail]
/// ",
/// );
/// let correlations = sheet.correlations().unwrap();
/// assert_eq!(correlations.coefficient("pond", "tail"), 1.0);
///
/// // With what is written wrong there are none, and not none that are zero.
/// let broken = Sheet::open("forebay: 1\nknown:\n  a: 3 m\ntied:\n  gauge: [a, z]\n");
/// assert!(broken.correlations().is_none());
/// ```
#[derive(Clone, Debug)]
pub struct Correlations {
    knowns: Vec<String>,
    ties: Vec<Tied>,
    /// By places of two knowns, the lower one first.
    coefficients: HashMap<(usize, usize), f64>,
    /// The lower triangle, row by row.
    factor: Vec<Vec<f64>>,
}

/// A tie between knowns.
#[derive(Clone, Debug)]
pub struct Tied {
    /// Its name; of a component's tie with the component's name in front.
    pub name: String,
    /// The knowns.
    pub knowns: Vec<String>,
    /// The correlation coefficient of each two of them.
    pub correlation: f64,
}

impl Correlations {
    /// The tied knowns, in the order of the sheet.
    #[must_use]
    pub fn knowns(&self) -> &[String] {
        &self.knowns
    }

    /// The ties, in the order of the sheet.
    #[must_use]
    pub fn ties(&self) -> &[Tied] {
        &self.ties
    }

    /// The correlation coefficient of two knowns: 1 of a known with itself, 0 where nothing ties
    /// them.
    #[must_use]
    pub fn coefficient(&self, one: &str, other: &str) -> f64 {
        if one == other {
            return 1.0;
        }
        let place = |name: &str| self.knowns.iter().position(|known| known == name);
        match (place(one), place(other)) {
            (Some(a), Some(b)) => {
                self.coefficients.get(&(a.min(b), a.max(b))).copied().unwrap_or(0.0)
            }
            _ => 0.0,
        }
    }

    /// The factor *L* of the matrix *R* = *L Lᵀ*, a row for each tied known: with independent
    /// numbers of variance 1 behind its columns, a row gives a number of variance 1 for its known,
    /// and those of two knowns have their coefficient.
    #[must_use]
    pub fn factor(&self) -> &[Vec<f64>] {
        &self.factor
    }

    /// Two ties that give the same two knowns different coefficients.
    pub(crate) fn contradiction(ties: &[(String, Vec<usize>, f64)]) -> Option<(usize, usize)> {
        let mut given: HashMap<(usize, usize), usize> = HashMap::new();
        for (at, (_, knowns, correlation)) in ties.iter().enumerate() {
            for pair in pairs(knowns) {
                let before = *given.entry(pair).or_insert(at);
                if ties[before].2.to_bits() != correlation.to_bits() {
                    return Some((before, at));
                }
            }
        }
        None
    }

    /// Puts ties together; knowns are named by their places. The place of the first known at which
    /// the matrix shows to be impossible is the error.
    pub(crate) fn new(
        knowns: Vec<String>,
        ties: Vec<(String, Vec<usize>, f64)>,
    ) -> Result<Self, usize> {
        let mut coefficients = HashMap::new();
        for (_, knowns, correlation) in &ties {
            coefficients.extend(pairs(knowns).map(|pair| (pair, *correlation)));
        }
        let factor = factored(knowns.len(), &coefficients)?;
        let ties = ties
            .into_iter()
            .map(|(name, places, correlation)| {
                let knowns = places.iter().map(|at| knowns[*at].clone()).collect();
                Tied { name, knowns, correlation }
            })
            .collect();
        Ok(Self { knowns, ties, coefficients, factor })
    }
}

/// Each two of some places, the lower one first.
fn pairs(places: &[usize]) -> impl Iterator<Item = (usize, usize)> {
    places.iter().enumerate().flat_map(move |(at, one)| {
        places[..at].iter().map(move |other| (*one.min(other), *one.max(other)))
    })
}

/// Cholesky's factor of a matrix that may be singular; the first row that cannot be is the error.
fn factored(
    count: usize,
    coefficients: &HashMap<(usize, usize), f64>,
) -> Result<Vec<Vec<f64>>, usize> {
    let mut factor: Vec<Vec<f64>> = Vec::with_capacity(count);
    for row in 0..count {
        let mut now: Vec<f64> = Vec::with_capacity(row + 1);
        let mut left = 1.0;
        for (column, before) in factor.iter().enumerate() {
            let coefficient = coefficients.get(&(column, row)).copied().unwrap_or(0.0);
            let sum: f64 = now.iter().zip(before).map(|(a, b)| a * b).sum();
            let missing = coefficient - sum;
            let diagonal = before[column];
            let entry = if diagonal > 0.0 {
                missing / diagonal
            } else if missing.abs() <= ROUNDING.sqrt() {
                0.0
            } else {
                return Err(row);
            };
            left -= entry * entry;
            now.push(entry);
        }
        if left < -ROUNDING {
            return Err(row);
        }
        now.push(if left <= ROUNDING { 0.0 } else { left.sqrt() });
        factor.push(now);
    }
    Ok(factor)
}

#[cfg(test)]
mod tests {
    use crate::Sheet;

    const KNOWNS: &str = "forebay: 1
known:
  a: { is: 3 m, plus_minus: 1 cm }
  b: { is: 2 m, plus_minus: 1 cm }
  c: { is: 1 m, plus_minus: 1 cm, degrees_of_freedom: 4 }
  plain: 1 m
work:
  d: a + b
tied:
";

    fn messages(tied: &str) -> Vec<String> {
        let sheet = Sheet::open(&format!("{KNOWNS}{tied}"));
        sheet.diagnostics().iter().map(|d| d.message.clone()).collect()
    }

    #[track_caller]
    fn refused(tied: &str, words: &str) {
        let all = messages(tied).join("; ");
        assert!(all.contains(words), "{tied}: {all}");
        assert!(Sheet::open(&format!("{KNOWNS}{tied}")).correlations().is_none());
    }

    #[test]
    fn the_factor_gives_the_coefficients_back() {
        let sheet = Sheet::open(&format!(
            "{KNOWNS}  ab: {{ knowns: [a, b], correlation: -0.36 }}
  ac: {{ knowns: [a, c], correlation: 0.86 }}
  bc: {{ knowns: [b, c], correlation: -0.65 }}
"
        ));
        let correlations = sheet.correlations().unwrap();
        let names = correlations.knowns();
        for (i, row) in correlations.factor().iter().enumerate() {
            for (j, other) in correlations.factor()[..=i].iter().enumerate() {
                let product: f64 = row.iter().zip(other).map(|(a, b)| a * b).sum();
                let coefficient = correlations.coefficient(&names[i], &names[j]);
                assert!((product - coefficient).abs() < 1e-15, "{i} {j}");
            }
        }
    }

    #[test]
    fn one_cause_of_all_is_possible_and_singular() {
        assert_eq!(messages("  staff: [a, b, c]\n"), [""; 0]);
        assert_eq!(messages("  staff: { knowns: [a, b], correlation: -1 }\n"), [""; 0]);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        refused("  t: [a, z]\n", "there is no known `z`");
        refused("  t: [a, d]\n", "worked out");
        refused("  t: [a, a]\n", "twice");
        refused("  t: [a]\n", "at least two");
        refused("  t: { knowns: [a, b], correlation: 1.2 }\n", "from -1 to 1");
        refused("  t: { knowns: [a, b], correlation: }\n", "from -1 to 1");
        refused("  t: { correlation: 0.5 }\n", "no `knowns`");
        refused("  t: [a, b]\n  u: { knowns: [b, a], correlation: 0.5 }\n", "different");
        // By hand: a with b and b with c as one cause, a against c.
        refused(
            "  t: [a, b]\n  u: [b, c]\n  v: { knowns: [a, c], correlation: -0.1 }\n",
            "no quantities can be correlated like this",
        );
        // The determinant 1 + 2·0.9·0.9·(−0.9) − 3·0.81 is below zero.
        refused(
            "  t: { knowns: [a, b], correlation: 0.9 }
  u: { knowns: [b, c], correlation: 0.9 }
  v: { knowns: [a, c], correlation: -0.9 }
",
            "no quantities can be correlated like this",
        );
    }

    #[test]
    fn a_tie_of_what_is_certain_is_told() {
        assert!(messages("  t: [a, plain]\n").join("").contains("does not say how uncertain"));
    }
}
