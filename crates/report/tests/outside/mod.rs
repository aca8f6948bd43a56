//! Programs and libraries that nobody here wrote, asked about a PDF: poppler, qpdf, quircs.

pub(crate) mod standards;

use std::path::PathBuf;
use std::process::{Command, Output};
use std::sync::atomic::{AtomicU32, Ordering};

static NUMBER: AtomicU32 = AtomicU32::new(0);

/// A file that is gone afterwards.
struct Kept(PathBuf);

impl Kept {
    fn of(pdf: &[u8]) -> Kept {
        let number = NUMBER.fetch_add(1, Ordering::Relaxed);
        let name = format!("rattlewatch-paper-{}-{number}.pdf", std::process::id());
        let path = std::env::temp_dir().join(name);
        std::fs::write(&path, pdf).expect("the temporary folder is writable");
        Kept(path)
    }
}

impl Drop for Kept {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.0);
    }
}

fn run(program: &str, before: &[&str], pdf: &Kept, after: &[&str]) -> Output {
    let package = if program == "qpdf" { "qpdf" } else { "poppler-utils" };
    Command::new(program)
        .args(before)
        .arg(&pdf.0)
        .args(after)
        .output()
        .unwrap_or_else(|error| panic!("{program}: {error}; install {package}"))
}

/// `qpdf --check` finds nothing, and every font is embedded and can be read back as text (`pdffonts`).
pub(crate) fn check_sound(pdf: &[u8]) {
    let kept = Kept::of(pdf);
    let checked = run("qpdf", &["--check"], &kept, &[]);
    assert!(checked.status.success(), "{}", String::from_utf8_lossy(&checked.stdout));
    let fonts = run("pdffonts", &[], &kept, &[]);
    let fonts = String::from_utf8(fonts.stdout).expect("text");
    let rows: Vec<&str> = fonts.lines().skip(2).collect();
    assert!(!rows.is_empty(), "no font at all: {fonts}");
    for row in rows {
        // name, type (two words), encoding, emb, sub, uni, object (two numbers).
        let cells: Vec<&str> = row.split_whitespace().rev().collect();
        assert_eq!(cells[2..5], ["yes", "yes", "yes"], "{fonts}");
    }
}

/// The text of each page in reading order, with single spaces.
pub(crate) fn page_texts(pdf: &[u8]) -> Vec<String> {
    let kept = Kept::of(pdf);
    let output = run("pdftotext", &["-raw"], &kept, &["-"]);
    let text = String::from_utf8(output.stdout).expect("text");
    let pages = text.trim_end_matches('\u{c}').split('\u{c}');
    pages.map(|page| page.split_whitespace().collect::<Vec<_>>().join(" ")).collect()
}

/// The text of all pages.
pub(crate) fn text(pdf: &[u8]) -> String {
    page_texts(pdf).join(" ")
}

/// Each word with the left, upper, right and lower edge of its box on its page, mm.
pub(crate) fn boxes(pdf: &[u8]) -> Vec<(String, [f64; 4])> {
    let kept = Kept::of(pdf);
    let output = run("pdftotext", &["-bbox"], &kept, &["-"]);
    let text = String::from_utf8(output.stdout).expect("text");
    let word = |line: &str| {
        let (tag, rest) = line.trim().strip_prefix("<word ")?.split_once('>')?;
        let edges: Vec<f64> = (tag.split('"').skip(1).step_by(2))
            .map(|edge| edge.parse::<f64>().expect("points") * 25.4 / 72.0)
            .collect();
        Some((rest.trim_end_matches("</word>").to_owned(), edges.try_into().expect("four edges")))
    };
    text.lines().filter_map(word).collect()
}

/// Every QR code on the pages.
pub(crate) fn codes(pdf: &[u8]) -> Vec<String> {
    codes_drawn(pdf, &["-r", "150", "-gray"])
}

/// Every QR code on one page, from 1.
pub(crate) fn codes_of_page(pdf: &[u8], page: u32) -> Vec<String> {
    let page = page.to_string();
    codes_drawn(pdf, &["-r", "300", "-gray", "-f", &page, "-l", &page])
}

fn codes_drawn(pdf: &[u8], options: &[&str]) -> Vec<String> {
    let kept = Kept::of(pdf);
    let output = run("pdftoppm", options, &kept, &[]);
    let mut found = Vec::new();
    let mut rest = output.stdout.as_slice();
    while let Some((width, height, pixels, after)) = picture(rest) {
        let mut reader = quircs::Quirc::default();
        for code in reader.identify(width, height, pixels).flatten() {
            let data = code.decode().expect("a code that reads");
            found.push(String::from_utf8(data.payload).expect("text"));
        }
        rest = after;
    }
    found
}

/// The first picture of a row of binary PGM files: `P5`, width, height, 255, pixels.
fn picture(bytes: &[u8]) -> Option<(usize, usize, &[u8], &[u8])> {
    let mut numbers = Vec::new();
    let mut at = bytes.strip_prefix(b"P5").map(|_| 2)?;
    while numbers.len() < 3 {
        let start = at + bytes[at..].iter().position(u8::is_ascii_digit)?;
        let end = start + bytes[start..].iter().position(|b| !b.is_ascii_digit())?;
        numbers.push(std::str::from_utf8(&bytes[start..end]).ok()?.parse::<usize>().ok()?);
        at = end;
    }
    let (width, height) = (numbers[0], numbers[1]);
    let (pixels, rest) = bytes[at + 1..].split_at(width * height);
    Some((width, height, pixels, rest))
}
