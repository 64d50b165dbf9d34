//! How the uncertain knowns of a study hang together, by their places.

use forebay_sheet::Sheet;

use super::Uncertain;
use crate::fault::Fault;

/// Two knowns by their places, the lower one first, and their correlation coefficient.
pub(super) type Pair = (usize, usize, f64);

/// The correlations of uncertain knowns.
pub(super) struct Ties {
    /// The name of each tie, and each two knowns that it ties with their coefficient. Two that are
    /// tied twice stand in the first of the ties.
    pub(super) ties: Vec<(String, Vec<Pair>)>,
    /// For each column of the factor the known it belongs to, if that is uncertain.
    pub(super) columns: Vec<Option<usize>>,
    /// The triangular factor of the correlation matrix, row by row.
    pub(super) factor: Vec<Vec<f64>>,
}

impl Ties {
    /// # Errors
    /// A sheet whose ties are wrong: to take its knowns as independent would be a guess.
    pub(super) fn of(sheet: &Sheet, knowns: &[Uncertain]) -> Result<Self, Fault> {
        let Some(correlations) = sheet.correlations() else {
            return Err(Fault::call(
                "what the sheet ties cannot be used as it is written",
                "mend `tied` first; the errors say where",
            ));
        };
        let place = |name: &String| knowns.iter().position(|known| known.known == *name);
        let mut seen = std::collections::HashSet::new();
        let ties = correlations.ties().iter().map(|tie| {
            let places: Vec<usize> = tie.knowns.iter().filter_map(place).collect();
            let mut pairs = Vec::new();
            for (at, one) in places.iter().enumerate() {
                for other in &places[..at] {
                    let (a, b) = (*one.min(other), *one.max(other));
                    if tie.correlation != 0.0 && seen.insert((a, b)) {
                        pairs.push((a, b, tie.correlation));
                    }
                }
            }
            (tie.name.clone(), pairs)
        });
        Ok(Self {
            ties: ties.filter(|(_, pairs)| !pairs.is_empty()).collect(),
            columns: correlations.knowns().iter().map(place).collect(),
            factor: correlations.factor().to_vec(),
        })
    }

    /// The knowns in groups: those of one group are tied to one another, and to no other one.
    pub(super) fn groups(&self, count: usize) -> Vec<Vec<usize>> {
        let mut group: Vec<usize> = (0..count).collect();
        for (a, b, _) in self.ties.iter().flat_map(|(_, pairs)| pairs) {
            let (keep, give) = (group[*a].min(group[*b]), group[*a].max(group[*b]));
            group.iter_mut().filter(|of| **of == give).for_each(|of| *of = keep);
        }
        let mut groups: Vec<Vec<usize>> = vec![Vec::new(); count];
        for (known, of) in group.into_iter().enumerate() {
            groups[of].push(known);
        }
        groups.retain(|knowns| !knowns.is_empty());
        groups
    }
}
