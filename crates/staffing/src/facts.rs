//! What is asked, as a small TOML file: the watch from when to when, its posts, and the people, if they are known.

use jiff::civil::DateTime;
use jiff::tz::TimeZone;
use serde::Deserialize;

/// Longest watch that is staffed in one go, in days.
const DAYS_MAX: i64 = 62;

/// What is asked.
#[derive(Clone, Debug)]
pub struct Facts {
    /// What people call the site.
    pub site: String,
    /// The zone its clocks show.
    pub zone: TimeZone,
    /// The watch begins, in minutes since 1970 UTC.
    pub from_min: i64,
    /// It ends.
    pub to_min: i64,
    /// Posts that must be held at every minute, by name.
    pub posts: Vec<String>,
    /// The people there are; empty when it is asked how many are needed.
    pub people: Vec<Person>,
    /// A length of shift that is wished, in minutes.
    pub shift_min: Option<i64>,
    /// What an hour costs where a person does not say, in hundredths.
    pub rate_cents: i64,
}

/// Somebody who can be sent.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Person {
    /// The name.
    pub name: String,
    /// What an hour costs, in hundredths.
    pub rate_cents: Option<i64>,
    /// When this person cannot come, in minutes since 1970 UTC.
    pub away: Vec<(i64, i64)>,
}

/// Why facts were refused.
#[derive(Debug, thiserror::Error)]
pub enum FactFault {
    /// No TOML of this form.
    #[error("{0}")]
    Form(String),
    /// A value that cannot be.
    #[error("{what}: {why}")]
    Value {
        /// Which.
        what: String,
        /// Why, and what to write.
        why: String,
    },
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    site: String,
    zone: String,
    from: String,
    to: String,
    shift_h: Option<f64>,
    #[serde(default)]
    rate: f64,
    post: Vec<PostTable>,
    #[serde(default)]
    person: Vec<PersonTable>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PostTable {
    name: String,
    #[serde(default = "one")]
    guards: usize,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PersonTable {
    name: String,
    rate: Option<f64>,
    #[serde(default)]
    away: Vec<[String; 2]>,
}

fn one() -> usize {
    1
}

impl Facts {
    /// Reads the file.
    pub fn read(text: &str) -> Result<Facts, FactFault> {
        let file: File = toml::from_str(text).map_err(|e| FactFault::Form(e.to_string()))?;
        let zone = TimeZone::get(&file.zone).map_err(|_| {
            refused(
                "zone",
                format!("{:?} is no zone: write one such as America/New_York", file.zone),
            )
        })?;
        let (from_min, to_min) =
            (minute("from", &file.from, &zone)?, minute("to", &file.to, &zone)?);
        if to_min <= from_min || to_min - from_min > DAYS_MAX * 1440 {
            return Err(refused(
                "to",
                format!("the watch must end after it begins, within {DAYS_MAX} days"),
            ));
        }
        let mut posts = Vec::new();
        for post in &file.post {
            if post.guards == 0 || post.guards > 50 {
                return Err(refused(&post.name, "a post is held by 1 to 50 guards".to_owned()));
            }
            for n in 1..=post.guards {
                let name = &post.name;
                posts.push(if post.guards == 1 { name.clone() } else { format!("{name} {n}") });
            }
        }
        if posts.is_empty() || posts.len() > 50 {
            return Err(refused("post", "give 1 to 50 posts".to_owned()));
        }
        let mut people = Vec::new();
        for person in &file.person {
            let away = person
                .away
                .iter()
                .map(|[a, b]| Ok((minute("away", a, &zone)?, minute("away", b, &zone)?)));
            people.push(Person {
                name: person.name.clone(),
                rate_cents: person.rate.map(|rate| cents(&person.name, rate)).transpose()?,
                away: away.collect::<Result<_, FactFault>>()?,
            });
        }
        let mut names: Vec<&str> = people.iter().map(|p| p.name.as_str()).collect();
        names.sort_unstable();
        if let Some(twice) = names.windows(2).find(|pair| pair[0] == pair[1]) {
            return Err(refused(twice[0], "this name stands there twice".to_owned()));
        }
        let shift_min = match file.shift_h {
            Some(h) if !(1.0..=24.0).contains(&h) => {
                return Err(refused("shift_h", "a shift lasts 1 to 24 hours".to_owned()));
            }
            h => h.map(|h| (h * 60.0) as i64),
        };
        let rate_cents = cents("rate", file.rate)?;
        Ok(Facts { site: file.site, zone, from_min, to_min, posts, people, shift_min, rate_cents })
    }
}

fn cents(what: &str, rate: f64) -> Result<i64, FactFault> {
    if !(0.0..=10_000.0).contains(&rate) {
        return Err(refused(what, "an hour costs 0 to 10000".to_owned()));
    }
    Ok((rate * 100.0 + 0.5) as i64)
}

fn minute(what: &str, text: &str, zone: &TimeZone) -> Result<i64, FactFault> {
    let local: DateTime = text
        .parse()
        .map_err(|_| refused(what, format!("{text:?} is no time: write 2026-11-24T18:00")))?;
    let at = zone
        .to_timestamp(local)
        .map_err(|_| refused(what, format!("{text:?} does not exist in this zone")))?;
    Ok(at.as_second().div_euclid(60))
}

fn refused(what: &str, why: String) -> FactFault {
    FactFault::Value { what: what.to_owned(), why }
}
