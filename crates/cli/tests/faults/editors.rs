//! Two editors at one file, and a file that goes away under an editor's hands.

use std::fs;
use std::sync::atomic::{AtomicBool, Ordering};

use forebay_page::{NotWritten, replace_unchanged};

use crate::writer::{number, text};

#[test]
fn two_editors_never_leave_a_torn_file_and_learn_of_each_other() {
    const ROUNDS: u64 = 300;
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("brook.yaml");
    fs::write(&file, text(0)).unwrap();
    let done = AtomicBool::new(false);
    let edit = |first: u64| {
        let (mut written, mut refused) = (0_u64, 0_u64);
        for round in 0..ROUNDS {
            let seen = fs::read_to_string(&file).unwrap();
            assert!(number(&seen).is_some(), "a torn file was read");
            match replace_unchanged(&file, &seen, &text(first + 2 * round)) {
                Ok(()) => written += 1,
                Err(NotWritten::Changed) => refused += 1,
                Err(NotWritten::Failed(error)) => panic!("{error}"),
            }
        }
        (written, refused)
    };
    let (one, other, looks) = std::thread::scope(|scope| {
        let one = scope.spawn(|| edit(1));
        let other = scope.spawn(|| edit(2));
        let looker = scope.spawn(|| {
            let mut looks = 0_u64;
            while !done.load(Ordering::Relaxed) {
                assert!(number(&fs::read_to_string(&file).unwrap()).is_some());
                looks += 1;
            }
            looks
        });
        let (one, other) = (one.join().unwrap(), other.join().unwrap());
        done.store(true, Ordering::Relaxed);
        (one, other, looker.join().unwrap())
    });
    println!("looks at a file that two editors write: {looks} tried, {looks} held");
    assert_eq!((one.0 + one.1, other.0 + other.1), (ROUNDS, ROUNDS));
    assert!(one.1 + other.1 > 0, "the two never met");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn a_file_that_went_away_is_not_made_anew_over_a_decision_of_others() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("brook.yaml");
    fs::write(&file, text(1)).unwrap();
    let seen = fs::read_to_string(&file).unwrap();
    fs::remove_file(&file).unwrap();
    assert!(matches!(replace_unchanged(&file, &seen, &text(2)), Err(NotWritten::Changed)));
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
    // A folder in its place is no file either.
    fs::create_dir(&file).unwrap();
    assert!(matches!(replace_unchanged(&file, &seen, &text(2)), Err(NotWritten::Failed(_))));
}
