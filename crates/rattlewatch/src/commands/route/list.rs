//! Stops from a plain list: `name,x_m,y_m,level,stay_s,gap_s`, walked straight at one speed.

use super::places::{Place, Places};
use anyhow::{Context, bail, ensure};
use planner::{Demands, Walks};
use std::path::Path;

/// Time for one flight of stairs on a plain list, in ms (common practice).
const FLIGHT_MS: f64 = 20_000.0;

/// Reads a list. Levels are numbers; a row without a gap takes `gap`.
pub(super) fn read(file: &Path, speed: f64, gap: Option<i64>) -> anyhow::Result<Places> {
    ensure!(
        speed > 0.0 && speed <= 3.5,
        "--speed {speed} is no walking speed: give 0.1 to 3.5 m/s"
    );
    let text =
        std::fs::read_to_string(file).with_context(|| format!("reading {}", file.display()))?;
    parse(&text, speed, gap).with_context(|| format!("in {}", file.display()))
}

struct Row {
    name: String,
    at_mm: (i64, i64),
    level: i32,
    stay_ms: i64,
    gap_ms: i64,
}

fn parse(text: &str, speed: f64, gap: Option<i64>) -> anyhow::Result<Places> {
    let mut rows: Vec<Row> = Vec::new();
    for (number, line) in text.lines().enumerate() {
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') || (number == 0 && line.starts_with("name,")) {
            continue;
        }
        let place = || format!("line {}: {line:?}", number + 1);
        let row = row(line, gap).with_context(place)?;
        ensure!(
            rows.iter().all(|known| known.name != row.name),
            "{}: this name stands there twice",
            place()
        );
        rows.push(row);
    }
    let walks = Walks::from_fn(rows.len(), |a, b| {
        let (a, b) = (&rows[a], &rows[b]);
        let (dx, dy) = ((a.at_mm.0 - b.at_mm.0) as f64, (a.at_mm.1 - b.at_mm.1) as f64);
        let flights = f64::from(a.level.abs_diff(b.level));
        ((dx * dx + dy * dy).sqrt() / speed + flights * FLIGHT_MS).ceil() as i64
    });
    let demands = Demands {
        walks: walks.closed(),
        stay_ms: rows.iter().map(|r| r.stay_ms).collect(),
        gap_ms: rows.iter().map(|r| r.gap_ms).collect(),
    };
    let list = rows
        .into_iter()
        .map(|r| Place {
            id: r.name.clone(),
            zone: r.name.clone(),
            name: r.name,
            level: r.level.to_string(),
            at_mm: r.at_mm,
        })
        .collect();
    Ok(Places { list, demands })
}

fn row(line: &str, gap: Option<i64>) -> anyhow::Result<Row> {
    let fields: Vec<&str> = line.split(',').map(str::trim).collect();
    let [name, x, y, level, stay, own_gap] = fields[..] else {
        bail!("write name,x_m,y_m,level,stay_s,gap_s");
    };
    ensure!(!name.is_empty(), "a stop needs a name");
    let metres = |t: &str| -> anyhow::Result<i64> {
        let m: f64 = t.parse().with_context(|| format!("{t:?} is no length in metres"))?;
        ensure!(m.abs() <= 100_000.0, "farther than 100 km");
        Ok((m * 1000.0).round() as i64)
    };
    let seconds = |t: &str| -> anyhow::Result<i64> {
        let s: f64 = t.parse().with_context(|| format!("{t:?} is no time in seconds"))?;
        ensure!((0.0..=1e6).contains(&s), "a time must be 0 to 1000000 s");
        Ok((s * 1000.0).round() as i64)
    };
    Ok(Row {
        name: name.to_owned(),
        at_mm: (metres(x)?, metres(y)?),
        level: level.parse().context("the level must be a whole number")?,
        stay_ms: seconds(stay)?,
        gap_ms: match (own_gap, gap) {
            ("", Some(gap)) => gap,
            ("", None) => bail!("no gap; write gap_s, or give --gap"),
            (own, _) => seconds(own)?.max(1),
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_is_read_with_levels_and_flights() {
        let places = parse(
            "name,x_m,y_m,level,stay_s,gap_s\nHall,0,0,0,20,1800\nAttic,3,4,2,30,",
            1.0,
            Some(900_000),
        )
        .unwrap();
        assert_eq!(places.demands.walks.ms(0, 1), 5000 + 40_000);
        assert_eq!(places.demands.gap_ms, [1_800_000, 900_000]);
    }

    #[test]
    fn bad_rows_say_what_to_write() {
        let said = |text: &str| format!("{:#}", parse(text, 1.0, None).map(|_| ()).unwrap_err());
        assert_eq!(said("Hall,0,0"), "line 1: \"Hall,0,0\": write name,x_m,y_m,level,stay_s,gap_s");
        assert_eq!(
            said("Hall,0,0,0,20,"),
            "line 1: \"Hall,0,0,0,20,\": no gap; write gap_s, or give --gap"
        );
        assert_eq!(
            said("A,0,0,0,9,60\nA,1,0,0,9,60"),
            "line 2: \"A,1,0,0,9,60\": this name stands there twice"
        );
        assert!(
            said("A,nan,0,0,9,60").contains("farther")
                || said("A,nan,0,0,9,60").contains("no length")
        );
    }
}
