//! The word that was probably meant.

/// The shortest candidate that holds the word, or else the one with the fewest slips, if they are
/// few against the word's length.
pub(crate) fn nearest<'a>(
    word: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    const LEAST: usize = 4;
    let word = word.to_lowercase();
    let letters = word.chars().count();
    let most = letters.div_ceil(3).max(1);
    let rank = |candidate: &str| {
        let candidate = candidate.to_lowercase();
        if letters >= LEAST && candidate.contains(&word) {
            return Some((0, candidate.len()));
        }
        let slips = strsim::damerau_levenshtein(&word, &candidate);
        (slips <= most).then_some((slips, candidate.len()))
    };
    candidates
        .into_iter()
        .filter_map(|candidate| Some((rank(candidate)?, candidate)))
        .min()
        .map(|(_, candidate)| candidate)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn only_near_words_are_proposed() {
        assert_eq!(nearest("whole-sit", ["pond", "whole-site"]), Some("whole-site"));
        assert_eq!(nearest("Pond", ["pond"]), Some("pond"));
        assert_eq!(nearest("crest", ["cost", "crest_pressure"]), Some("crest_pressure"));
        assert_eq!(nearest("zzz", ["pond"]), None);
        assert_eq!(nearest("", ["pond"]), None);
    }
}
