//! The word that was probably meant.

/// The candidate with the fewest slips, if they are few against the word's length.
pub(crate) fn nearest<'a>(
    word: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    let word = word.to_lowercase();
    let most = word.chars().count().div_ceil(3).max(1);
    candidates
        .into_iter()
        .map(|candidate| (strsim::damerau_levenshtein(&word, &candidate.to_lowercase()), candidate))
        .filter(|(slips, _)| *slips <= most)
        .min_by_key(|(slips, _)| *slips)
        .map(|(_, candidate)| candidate)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn only_near_words_are_proposed() {
        assert_eq!(nearest("whole-sit", ["pond", "whole-site"]), Some("whole-site"));
        assert_eq!(nearest("Pond", ["pond"]), Some("pond"));
        assert_eq!(nearest("zzz", ["pond"]), None);
        assert_eq!(nearest("", ["pond"]), None);
    }
}
