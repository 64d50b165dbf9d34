//! `exercise` and `mark` as an instructor uses them: from a sheet to handouts, and from answers to
//! marks.

use std::fs;
use std::path::Path;

use crate::running::{Ran, assert_fits, command, forebay, golden, on_sheet, ran};

/// A command run in a folder of its own.
fn inside(folder: &Path, arguments: &[&str]) -> Ran {
    ran(command(arguments).current_dir(folder))
}

fn class() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let made = ["exercise", "exercise-siphon", "--for", "4", "--seed", "7", "-o", "class"];
    let ran = inside(folder.path(), &made);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.err.contains("the key is in class-key.json"), "{}", ran.err);
    folder
}

const ANSWERS: &str = "learner,question,answer
01,1,1.29 m/s
01,2,b
01,loss_to_crest,\"0,264 m\"
01,crest_pressure,16.0 kPa
01,water_holds_together,no
01,6,2.1 kW
02,velocity,10.4 m/s
02,regime,turbulent
02,loss_to_crest,13.4 m
02,power,3248
03,velocity,1.02 ft/s
03,loss_to_crest,10.7 cm
03,crest_pressure,-63.5 kPa_gauge
03,water_holds_together,dunno
03,power,3,432 W
12,velocity,1.2
03,velosity,1.81
02,power,3.1 kW
";

#[test]
fn variants_for_reading() {
    let ran = forebay(&["exercise", "exercise-siphon", "--for", "5", "--seed", "7"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert_fits(&ran.out, 80);
    golden("exercise.txt", &ran.out);
}

#[test]
fn handouts_tell_no_answers_and_the_key_lies_apart() {
    let folder = class();
    let files: Vec<String> = fs::read_dir(folder.path().join("class"))
        .unwrap()
        .map(|file| file.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    assert_eq!(files.len(), 9, "{files:?}");
    assert!(!files.iter().any(|file| file.contains("key")), "{files:?}");
    let markdown = fs::read_to_string(folder.path().join("class/01.md")).unwrap();
    golden("handout.md", &markdown);
    let html = fs::read_to_string(folder.path().join("class/01.html")).unwrap();
    golden("handout.html", &html);
    let key: serde_json::Value =
        serde_json::from_str(&fs::read_to_string(folder.path().join("class-key.json")).unwrap())
            .unwrap();
    assert_eq!(key["schema"], 1);
    let answers = &key["learners"][0]["answers"];
    for cell in ["velocity", "loss_to_crest", "crest_pressure", "power"] {
        let shown = answers[cell]["shown"].as_str().unwrap();
        let number = shown.split(' ').next().unwrap();
        for text in [&markdown, &html] {
            assert!(!text.contains(number), "{cell} = {shown} stands in the handout");
        }
    }
    // What is there is left as it is.
    let again = inside(folder.path(), &["exercise", "exercise-weir", "--for", "2", "-o", "class"]);
    assert_eq!(again.code, 2);
    assert!(again.err.contains("is there already"), "{}", again.err);
    let after = fs::read_to_string(folder.path().join("class/01.md")).unwrap();
    assert_eq!(after, markdown);
}

#[test]
fn marks_for_reading_and_for_programs() {
    let folder = class();
    fs::write(folder.path().join("answers.csv"), ANSWERS).unwrap();
    let mark = |form: &str| {
        inside(folder.path(), &["mark", "class-key.json", "answers.csv", "--as", form])
    };
    let ran = mark("text");
    assert_eq!((ran.code, ran.err.as_str()), (1, ""));
    assert_fits(&ran.out, 80);
    golden("marks.txt", &ran.out);
    golden("marks.csv", &mark("csv").out);
    golden("marks.md", &mark("markdown").out);
    let json: serde_json::Value = serde_json::from_str(&mark("json").out).unwrap();
    assert_eq!(json["schema"], 1);
    assert_eq!(json["learners"][1]["answers"][0]["slip"], "radius-for-bore");
    // Every line of the answers is somewhere.
    let all = |json: &serde_json::Value| -> usize {
        let items = json["learners"].as_array().unwrap().iter();
        let items = items.flat_map(|one| one["answers"].as_array().unwrap());
        items.map(|item| item["handed"].as_array().unwrap().len()).sum::<usize>()
            + json["not_told"].as_array().unwrap().len()
    };
    assert_eq!(all(&json), ANSWERS.lines().count() - 1);
}

#[test]
fn one_learner_and_names() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("names.txt"), "Ida Brook\nJo Weir\n").unwrap();
    let made = ["exercise", "exercise-weir", "--names", "names.txt", "-o", "class"];
    let ran = inside(folder.path(), &made);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(folder.path().join("class/Ida-Brook.html").exists());
    fs::write(folder.path().join("a.csv"), "name;number;answer\njo weir;1;1,5 cfs\n").unwrap();
    let ran = inside(folder.path(), &["mark", "class-key.json", "a.csv", "--learner", "Jo Weir"]);
    assert!(ran.out.contains("Jo Weir:") && !ran.out.contains("Ida Brook:"), "{}", ran.out);
    assert!(ran.out.contains("1,5 cfs"), "{}", ran.out);
    // The learner is not told what is hidden.
    let handout = fs::read_to_string(folder.path().join("class/Ida-Brook.md")).unwrap();
    assert!(!handout.contains("What really runs"), "{handout}");
}

#[test]
fn what_cannot_be_made_is_refused() {
    let check = |sheet: &str, arguments: &[&str], words: &[&str]| {
        let ran = on_sheet(sheet, &[&["exercise", "-"], arguments].concat());
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{}", ran.err);
        for word in words {
            assert!(ran.err.contains(word), "{word} is not in\n{}", ran.err);
        }
    };
    let sheet = "forebay: 1\nknown:\n  a: 3 m\nwork:\n  b: 2 * a\n";
    check(sheet, &["--for", "3"], &["no exercise", "`exercise:`"]);
    let exercise =
        format!("{sheet}exercise:\n  vary:\n    a: {{ between: [1 m, 3 m] }}\n  ask:\n    b:\n");
    check(&exercise, &["--for", "9"], &["3 different variants", "smaller steps"]);
    check(&exercise, &["--for", "0"], &["0 learners"]);
    let never = format!("{exercise}  where:\n    long: b > 99 m\n");
    check(&never, &["--for", "2"], &["the condition `long` does not hold", "ease"]);
    let wrong = exercise.replace("b:\n", "c:\n");
    let ran = on_sheet(&wrong, &["exercise", "-", "--for", "2"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("but there is no such cell"), "{}", ran.err);
}

#[test]
fn what_cannot_be_marked_is_refused() {
    let folder = class();
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    let check = |key: &str, answers: &str, words: &str| {
        let ran = inside(folder.path(), &["mark", key, answers]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{}", ran.err);
        assert!(ran.err.contains(words), "{}", ran.err);
    };
    write("good.csv", "learner,question,answer\n");
    write("empty.csv", "");
    write("heads.csv", "who,what,how\n1,2,3\n");
    write("key.json", "{\"schema\": 1}");
    check("class-key.json", "nowhere.csv", "cannot be read");
    check("class-key.json", "empty.csv", "is empty");
    check("class-key.json", "heads.csv", "no column `learner`");
    check("good.csv", "good.csv", "this is no key");
    check("key.json", "good.csv", "no sheet");
    let ran = inside(folder.path(), &["mark", "class-key.json", "good.csv"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
}
