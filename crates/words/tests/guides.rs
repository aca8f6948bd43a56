//! A guide names controls and pages as the screens do: each name in italics is a text of that language.

use std::fs;
use std::path::{Path, PathBuf};

/// What commands answer, quoted in a guide and put together from several texts.
const NO_CONTROL: [&str; 2] = ["At least", "None found in these sources; ask the authority"];

#[test]
fn every_name_in_a_guide_stands_on_a_screen() {
    let guides = root().join("docs/guides");
    let mut missing = Vec::new();
    let mut named = 0;
    for file in sorted(&guides) {
        let lang = if file.ends_with("guardia.md") { "es" } else { "en" };
        let texts = texts(lang);
        for name in names(&fs::read_to_string(&file).unwrap()) {
            named += 1;
            let shown = file.file_name().unwrap().to_string_lossy().into_owned();
            if !NO_CONTROL.contains(&name.as_str()) && !texts.iter().any(|text| fits(text, &name)) {
                missing.push(format!("{shown}: {name}"));
            }
        }
    }
    assert!(missing.is_empty(), "no screen says {missing:#?}");
    assert!(named > 60, "only {named} names were found");
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn sorted(folder: &Path) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> =
        fs::read_dir(folder).unwrap().map(|file| file.unwrap().path()).collect();
    files.sort();
    files
}

/// Every text of a language, with its blanks.
fn texts(lang: &str) -> Vec<String> {
    let files = sorted(&root().join("crates/words/lang").join(lang));
    let lines = files.iter().flat_map(|file| {
        let text = fs::read_to_string(file).unwrap();
        text.lines().map(str::to_owned).collect::<Vec<_>>()
    });
    let lines = lines.filter(|line| !line.starts_with('#'));
    lines.filter_map(|line| Some(line.split_once(": ")?.1.trim().to_owned())).collect()
}

/// What stands between single asterisks, outside of code.
fn names(guide: &str) -> Vec<String> {
    let mut names = Vec::new();
    let mut code = false;
    for line in guide.lines() {
        code ^= line.starts_with("```");
        if code {
            continue;
        }
        let line = line.replace("**", "");
        names.extend(line.split('*').skip(1).step_by(2).map(str::to_owned));
    }
    names
}

/// Whether a text is that name: word for word, as what stands before its first blank or colon, or with its
/// blanks filled in. Within a sentence a name may begin small.
fn fits(text: &str, name: &str) -> bool {
    let (text, name) = (text.trim_end_matches('.').to_lowercase(), name.to_lowercase());
    let goes_on = |rest: &str| [": ", " {", ", {"].iter().any(|sign| rest.starts_with(sign));
    if text.strip_prefix(&name).is_some_and(|rest| rest.is_empty() || goes_on(rest)) {
        return true;
    }
    let (Some(from), Some(to)) = (text.find('{'), text.rfind('}')) else { return false };
    let (before, after) = (&text[..from], &text[to + 1..]);
    let words = before.len() + after.len();
    words > 3 && name.len() > words && name.starts_with(before) && name.ends_with(after)
}
