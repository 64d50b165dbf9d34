//! What may have been meant by a name that nobody knows.

/// Up to three of the names that are nearest; none where none is near.
pub(crate) fn nearest<'n>(word: &str, names: impl Iterator<Item = &'n str>) -> Vec<&'n str> {
    let mut near: Vec<(usize, &str)> = names
        .map(|name| (strsim::damerau_levenshtein(word, name), name))
        .filter(|(distance, name)| *distance <= farthest(name.len().min(word.len())))
        .collect();
    near.sort_unstable();
    near.dedup();
    let best = near.first().map(|(distance, _)| *distance);
    near.into_iter().take_while(|(d, _)| Some(*d) == best).take(3).map(|(_, name)| name).collect()
}

/// How many slips a word of this length may hold. A short word is near to nearly everything.
fn farthest(length: usize) -> usize {
    if length < 3 { 0 } else { length.div_ceil(3) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_are_forgiven_in_measure() {
        let names = ["bore", "flow", "gross_head", "q"];
        let near = |word| nearest(word, names.into_iter());
        assert_eq!(near("boar"), ["bore"]);
        assert_eq!(near("flwo"), ["flow"]);
        assert_eq!(near("gros_haed"), ["gross_head"]);
        assert_eq!(near("x"), [""; 0]);
        assert_eq!(near("stream"), [""; 0]);
    }
}
