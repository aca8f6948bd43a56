//! A made-up place to try everything with: Gannet Quay, a harbour warehouse being turned into flats.
//! No number of it can be dialled.

use crate::account::begin::{self, Founding};
use crate::opening::{self, Guard, Wanted};
use crate::problem::Problem;
use crate::server::App;
use crate::{enrolment, secret};
use record::{DemandFrom, System};
use words::Lang;

/// How to come in, once the demonstration stands.
#[derive(Debug, Clone)]
pub struct Demo {
    /// The sign-in name.
    pub login: String,
    /// Its password, drawn for this folder.
    pub password: String,
    /// The link for the guard's phone.
    pub phone_link: Option<String>,
    /// The path of the watch's page.
    pub watch_path: String,
}

/// Founds a house and opens a watch in an empty folder; none if somebody has an account here.
pub async fn seed(app: &App) -> Result<Option<Demo>, Problem> {
    if app.begin_link().is_none() {
        return Ok(None);
    }
    let (login, password) = ("demo".to_owned(), secret::token());
    let founding = Founding {
        house: "Lantern Guards (demonstration)",
        tz: "America/Chicago",
        name: "Rosa Quill",
        login: &login,
        password: &password,
        lang: Lang::En,
    };
    let owner = begin::found(app, &founding).await?;
    let done = opening::place(app, gannet_quay(app.clock.now_ms()), Lang::En, &owner).await?;
    let phone_link = done.enrolment.and_then(|digest| enrolment::link_of(app, digest));
    let watch_path = format!("/watch/{}", done.watch);
    Ok(Some(Demo { login, password, phone_link, watch_path }))
}

fn gannet_quay(now_ms: i64) -> Wanted {
    let named = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect();
    Wanted {
        name: "Gannet Quay".to_owned(),
        address: "1 Harbour Road".to_owned(),
        town: "Port Gannet".to_owned(),
        tz: "America/Chicago".to_owned(),
        zones: named(&["Floor 1", "Floor 2", "Floor 3", "Floor 4", "Stair B", "Loading bay"]),
        gap_s: 1_800,
        source_from: DemandFrom::Client,
        source: "Demonstration order".to_owned(),
        from_ms: now_ms,
        until_ms: Some(now_ms + 12 * 3_600_000),
        out: vec![System::Sprinkler],
        asleep: false,
        guard: Guard::New {
            name: "Jon Abara".to_owned(),
            number: String::new(),
            language: Lang::En,
        },
        contact: None,
        emergency: None,
        demo: true,
        test: false,
        site: None,
        profiles: Vec::new(),
        out_since_ms: None,
        occupancy: Vec::new(),
        hours: None,
        holidays: Vec::new(),
        instructions: named(&[
            "The sprinkler valve on level 1 is shut and tagged. Do not open it.",
            "Hot work ends at 18:00. Look under the tarpaulins on levels 3 and 4.",
            "Meet the engine at the loading bay.",
        ]),
    }
}
