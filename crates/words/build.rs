//! Turns `lang/*/*.words` into typed functions. The English files are the reference: every other
//! language must have the same files, keys, plural forms and blanks, else the build stops and says where.
//!
//! A line is `key: text`, `key.one: text` for a plural form chosen by the blank `{n}`, or a comment
//! after `#`. `{name}` is a blank. The first line of a language's `about.words` names its plural rule.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::path::Path;
use std::{env, fs};

type Forms = BTreeMap<String, String>;
type Keys = BTreeMap<String, Forms>;

fn main() {
    println!("cargo::rerun-if-changed=lang");
    let languages = read_languages(Path::new("lang"));
    let reference = languages.get("en").expect("lang/en is the reference language");
    for (tag, files) in &languages {
        compare(tag, files, reference);
    }
    let out = Path::new(&env::var("OUT_DIR").expect("cargo sets OUT_DIR")).join("words.rs");
    fs::write(out, generate(&languages, reference)).expect("OUT_DIR is writable");
}

fn read_languages(root: &Path) -> BTreeMap<String, BTreeMap<String, Keys>> {
    let mut languages = BTreeMap::new();
    for folder in sorted(root) {
        let mut files = BTreeMap::new();
        for file in
            sorted(&folder).into_iter().filter(|f| f.extension().is_some_and(|e| e == "words"))
        {
            files.insert(stem(&file), read_keys(&file));
        }
        languages.insert(stem(&folder), files);
    }
    languages
}

fn sorted(folder: &Path) -> Vec<std::path::PathBuf> {
    let mut paths: Vec<_> = fs::read_dir(folder)
        .unwrap_or_else(|error| panic!("{}: {error}", folder.display()))
        .map(|entry| entry.expect("folder is readable").path())
        .collect();
    paths.sort();
    paths
}

fn stem(path: &Path) -> String {
    path.file_stem().and_then(|s| s.to_str()).expect("file names are ASCII").to_owned()
}

fn read_keys(file: &Path) -> Keys {
    let mut keys = Keys::new();
    let text = fs::read_to_string(file).expect("word files are UTF-8");
    for (number, line) in text.lines().enumerate() {
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        let place = format!("{}:{}", file.display(), number + 1);
        let (key, text) =
            line.split_once(':').unwrap_or_else(|| panic!("{place}: expected `key: text`"));
        let (key, form) = key.trim().split_once('.').unwrap_or((key.trim(), ""));
        let earlier =
            keys.entry(key.to_owned()).or_default().insert(form.to_owned(), text.trim().to_owned());
        assert!(earlier.is_none(), "{place}: key {key:?} stands there twice");
    }
    keys
}

fn blanks(forms: &Forms) -> BTreeSet<String> {
    let mut names = BTreeSet::new();
    for text in forms.values() {
        let mut rest = text.as_str();
        while let Some(start) = rest.find('{') {
            let end = rest[start..].find('}').expect("a blank is closed") + start;
            names.insert(rest[start + 1..end].to_owned());
            rest = &rest[end + 1..];
        }
    }
    if forms.keys().any(|form| !form.is_empty()) {
        names.insert("n".to_owned());
    }
    names
}

fn compare(tag: &str, files: &BTreeMap<String, Keys>, reference: &BTreeMap<String, Keys>) {
    for (file, keys) in reference {
        let ours = files.get(file).unwrap_or_else(|| panic!("lang/{tag}/{file}.words is missing"));
        for (key, forms) in keys {
            let our_forms = ours
                .get(key)
                .unwrap_or_else(|| panic!("lang/{tag}/{file}.words lacks the key {key:?}"));
            assert_eq!(
                blanks(our_forms),
                blanks(forms),
                "lang/{tag}/{file}.words: the blanks of {key:?} differ from English"
            );
            let plural = forms.keys().any(|form| !form.is_empty());
            let complete = if plural {
                our_forms.contains_key("one") && our_forms.contains_key("other")
            } else {
                our_forms.contains_key("")
            };
            assert!(complete, "lang/{tag}/{file}.words: {key:?} needs the forms that English has");
        }
        for key in ours.keys() {
            assert!(keys.contains_key(key), "lang/{tag}/{file}.words: {key:?} is not in English");
        }
    }
    for file in files.keys() {
        assert!(reference.contains_key(file), "lang/{tag}/{file}.words is not in English");
    }
}

fn generate(
    languages: &BTreeMap<String, BTreeMap<String, Keys>>,
    reference: &BTreeMap<String, Keys>,
) -> String {
    let mut out = String::new();
    let variants: Vec<String> = languages.keys().map(|tag| variant(tag)).collect();
    writeln!(out, "/// The languages that are complete.").unwrap();
    writeln!(out, "#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, serde::Serialize, serde::Deserialize)]").unwrap();
    writeln!(out, "#[serde(rename_all = \"lowercase\")]\npub enum Lang {{").unwrap();
    for (tag, name) in languages.keys().zip(&variants) {
        let default = if tag == "en" { "#[default] " } else { "" };
        writeln!(out, "/// `{tag}`\n{default}{name},").unwrap();
    }
    writeln!(
        out,
        "}}\nimpl Lang {{\n/// All of them.\npub const ALL: [Lang; {}] = [{}];",
        variants.len(),
        variants.iter().map(|v| format!("Lang::{v}")).collect::<Vec<_>>().join(", ")
    )
    .unwrap();
    writeln!(out, "/// The BCP 47 tag.\npub fn tag(self) -> &'static str {{ match self {{")
        .unwrap();
    for (tag, name) in languages.keys().zip(&variants) {
        writeln!(out, "Lang::{name} => {tag:?},").unwrap();
    }
    writeln!(out, "}} }}\n}}").unwrap();
    for (file, keys) in reference {
        writeln!(out, "/// `lang/*/{file}.words`\npub mod {file} {{\nuse super::Lang;").unwrap();
        for (key, forms) in keys {
            function(&mut out, languages, file, key, forms);
        }
        writeln!(out, "}}").unwrap();
    }
    out
}

fn variant(tag: &str) -> String {
    let (first, rest) = tag.split_at(1);
    first.to_uppercase() + rest
}

fn function(
    out: &mut String,
    languages: &BTreeMap<String, BTreeMap<String, Keys>>,
    file: &str,
    key: &str,
    forms: &Forms,
) {
    let names = blanks(forms);
    let plural = forms.keys().any(|form| !form.is_empty());
    let shown = forms.get("").or(forms.get("other")).expect("a key has a text");
    let doc = shown.replace('[', "\\[").replace('<', "\\<");
    if names.is_empty() {
        writeln!(out, "/// {doc}\npub fn {key}(lang: Lang) -> &'static str {{ match lang {{")
            .unwrap();
        for (tag, files) in languages {
            writeln!(out, "Lang::{} => {:?},", variant(tag), files[file][key][""]).unwrap();
        }
        writeln!(out, "}} }}").unwrap();
        return;
    }
    let arguments: Vec<String> = names
        .iter()
        .map(|name| {
            if name == "n" {
                "n: i64".to_owned()
            } else {
                format!("{name}: impl std::fmt::Display")
            }
        })
        .collect();
    writeln!(
        out,
        "/// {doc}\npub fn {key}(lang: Lang, {}) -> String {{ match lang {{",
        arguments.join(", ")
    )
    .unwrap();
    for (tag, files) in languages {
        let ours = &files[file][key];
        // English and Spanish both take the singular for exactly one (CLDR 46 cardinal rules, integers).
        let text = if plural {
            format!(
                "if n == 1 {{ {} }} else {{ {} }}",
                format_call(&ours["one"], &names),
                format_call(&ours["other"], &names)
            )
        } else {
            format_call(&ours[""], &names)
        };
        writeln!(out, "Lang::{} => {text},", variant(tag)).unwrap();
    }
    writeln!(out, "}} }}").unwrap();
}

fn format_call(text: &str, names: &BTreeSet<String>) -> String {
    let used: Vec<String> = names
        .iter()
        .filter(|name| text.contains(&format!("{{{name}}}")))
        .map(|name| format!("{name} = {name}"))
        .collect();
    if used.is_empty() {
        format!("{text:?}.to_owned()")
    } else {
        format!("format!({text:?}, {})", used.join(", "))
    }
}
