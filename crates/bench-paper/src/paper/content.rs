//! Nights to print, and their content as the peers take it: HTML for the browser, JSON for the library.

use crate::printed::{bundle_of, fold};
use anyhow::{Context, Result};
use report::sheets::NightSheet;
use report::{Folded, compose};
use serde_json::json;
use std::fmt::Write as _;
use std::path::Path;

/// Twelve hours, four zones, about 280 lines, a finding an hour. `number` changes names, minutes and words.
pub(crate) fn night(number: u32) -> String {
    with(number, 0)
}

fn with(number: u32, photos: u32) -> String {
    let mut night = format!(
        "site: Gannet Hotel {number}, {number} Harbour Row, Gannet\nid: w-bench-{number}\n\
         date: 2026-03-02\nwatch: 20:00 to 08:00\nsource: code Gannet fire marshal, guideline 2025\n\
         gap floor-1: 15 min\ngap floor-2: 15 min\ngap kitchen: 30 min\ngap yard: 30 min\n\
         people: Ines\n\n20:00 Ines begins until 08:00\n"
    );
    let mut lines: Vec<(u32, String)> = Vec::new();
    for (zone, every, first) in
        [("floor-1", 13, 1), ("floor-2", 13, 4), ("kitchen", 26, 7), ("yard", 26, 9)]
    {
        for minute in (first + number % 2..715).step_by(every) {
            lines.push((minute, format!("Ines sees {zone}")));
        }
    }
    for hour in 0..11 {
        let says =
            format!("Ines finds exits in kitchen: Door {number} held open with crate {hour}");
        lines.push((hour * 60 + 20, says));
        lines.push((hour * 60 + 21, "Ines closes exits with shut".to_owned()));
    }
    for photo in 0..photos {
        lines.push((10 + photo * 700 / photos, "Ines photographs it".to_owned()));
    }
    lines.sort_by_key(|(minute, _)| *minute);
    for (minute, says) in lines {
        let at = 20 * 60 + minute;
        writeln!(night, "{:02}:{:02} {says}", at / 60 % 24, at % 60).expect("a string");
    }
    night + "08:00 Ines ends and signs\n"
}

/// Bundle, JSON and HTML of one night; returns how many lines its log has.
pub(crate) fn write(folder: &Path, number: u32) -> Result<usize> {
    put(folder, &with(number, 0), "", 0)
}

/// The same for a later night of the run, under its number.
pub(crate) fn write_more(folder: &Path, number: u32) -> Result<()> {
    put(folder, &with(number, 0), &format!("-{number}"), 0).map(|_| ())
}

/// The same with photos, which lie in the folder.
pub(crate) fn write_with_photos(folder: &Path, photos: u32) -> Result<()> {
    put(folder, &with(0, photos), "", photos).map(|_| ())
}

fn put(folder: &Path, night: &str, named: &str, photos: u32) -> Result<usize> {
    let bundle = bundle_of(night)?;
    let mut folded = fold(&bundle)?;
    if photos > 0 {
        put_photos(&mut folded, folder)?;
    }
    let sheet = compose(&folded.whole());
    std::fs::write(folder.join(format!("watch{named}.zip")), bundle)?;
    std::fs::write(folder.join(format!("dial{named}.svg")), &sheet.dial_svg)?;
    let files: Vec<String> = (0..photos).map(|n| format!("photo-{n}.jpg")).collect();
    let data = json!({"sheet": &sheet, "files": files});
    std::fs::write(folder.join(format!("data{named}.json")), data.to_string())?;
    std::fs::write(folder.join(format!("report{named}.html")), html(&sheet, &files)?)?;
    Ok(sheet.log.rows.len())
}

/// Lays the photos of the folder under the digests that the record names.
pub(crate) fn put_photos(folded: &mut Folded, folder: &Path) -> Result<()> {
    let about_ms = folded.last_rx_ms.unwrap_or(i64::MAX);
    let photos = folded.watch.about(about_ms).pictures;
    for (n, digest) in photos.into_iter().map(|photo| photo.blob).enumerate() {
        let file = folder.join(format!("photo-{n}.jpg"));
        let bytes = std::fs::read(&file).with_context(|| file.display().to_string())?;
        folded.documents.pictures.insert(digest, bytes);
    }
    Ok(())
}

fn safe(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;")
}

fn html(sheet: &NightSheet, files: &[String]) -> Result<String> {
    let mut page = format!(
        "<!doctype html><html lang=en><meta charset=utf-8><title>{0}</title><style>\
         @page{{size:A4;margin:15mm}}body{{font:9.5pt sans-serif}}table{{border-collapse:collapse;width:100%}}\
         td,th{{text-align:left;vertical-align:top;border-top:.5pt solid #ccc;padding:3pt}}\
         figure{{display:inline-block;width:48%;margin:1%;break-inside:avoid}}img{{width:100%}}</style>\
         <h1>{0}</h1><p>{1}</p><h2>{2}</h2><p>{3}</p><div style='width:55%'>{4}</div>",
        safe(&sheet.title),
        safe(&sheet.subtitle),
        safe(&sheet.verdict),
        safe(&sheet.rounds),
        sheet.dial_svg
    );
    let mut table = |title: &str, head: &[String], rows: Vec<Vec<String>>| -> std::fmt::Result {
        let cells = |tag: &str, cells: &[String]| {
            let cells: Vec<String> =
                cells.iter().map(|cell| format!("<{tag}>{}</{tag}>", safe(cell))).collect();
            format!("<tr>{}</tr>", cells.concat())
        };
        write!(page, "<h2>{}</h2><table><thead>{}</thead>", safe(title), cells("th", head))?;
        for row in rows {
            page.push_str(&cells("td", &row));
        }
        write!(page, "</table>")
    };
    let zone = |z: &report::sheets::ZoneRow| {
        vec![
            z.name.clone(),
            z.longest.clone(),
            z.allowed.clone(),
            z.judged.clone(),
            z.sealed.clone(),
        ]
    };
    table("", &sheet.zone_head, sheet.zones.iter().map(zone).collect())?;
    let owed = |r: &report::sheets::OwedRow| vec![r.what.clone(), r.source.clone()];
    table(&sheet.owed.title, &sheet.owed_head, sheet.owed.rows.iter().map(owed).collect())?;
    let happened =
        |r: &report::sheets::HappenedRow| vec![r.time.clone(), r.what.clone(), r.state.clone()];
    let rows = sheet.happened.rows.iter().map(happened).collect();
    table(&sheet.happened.title, &sheet.happened_head, rows)?;
    table(&sheet.findings.title, &sheet.owed_head, sheet.findings.rows.iter().map(owed).collect())?;
    let line = |r: &report::sheets::LogRow| {
        let mut what = r.what.says.clone();
        for more in r.what.words.iter().chain(&r.what.marks) {
            what += &format!(" {more}");
        }
        vec![r.happened.clone(), r.written.clone(), r.who.clone(), what]
    };
    table(&sheet.log.title, &sheet.log_head, sheet.log.rows.iter().map(line).collect())?;
    for (file, photo) in files.iter().zip(&sheet.photos.rows) {
        let (says, digest) = (safe(&photo.says), &photo.sha256);
        write!(
            page,
            "<figure><img src='{file}' alt='{says}'>{says}<br><small>{digest}</small></figure>"
        )?;
    }
    Ok(page)
}
