//! Coming in for the first time: the first account, and everybody who was invited.

use crate::account::login::{self, Login};
use crate::account::{password, session};
use crate::house::{self, House};
use crate::page::form::Field;
use crate::page::{Place, Reader, frame};
use crate::people::{self, Person};
use crate::problem::Problem;
use crate::secret;
use crate::server::App;
use crate::settings::{INVITES, Kept};
use axum::Form;
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::tz::TimeZone;
use ledger::PersonId;
use maud::{Markup, html};
use record::Role;
use serde::{Deserialize, Serialize};
use words::{Lang, desk};

/// A link that lets somebody choose a password. Kept by the digest of its token.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Invite {
    /// Whom; none: the first account of the house.
    person: Option<PersonId>,
    until_ms: i64,
}

impl Invite {
    /// It runs out after this long, ms (our own default).
    pub(crate) const LASTS_MS: i64 = 48 * 3_600_000;
}

impl Kept for Invite {
    const COLLECTION: &'static str = INVITES;
}

/// Makes the link to the first account while there is none. An older one runs out at once.
pub(crate) async fn first_link(app: &App) -> Result<Option<String>, Problem> {
    if !app.settings.all::<Login>().await?.is_empty() {
        return Ok(None);
    }
    for (digest, invite) in app.settings.all::<Invite>().await? {
        if invite.person.is_none() {
            app.settings.remove::<Invite>(&digest).await?;
        }
    }
    make_link(app, None).await.map(Some)
}

/// Makes a link.
pub(crate) async fn make_link(app: &App, person: Option<PersonId>) -> Result<String, Problem> {
    let token = secret::token();
    let invite = Invite { person, until_ms: app.clock.now_ms() + Invite::LASTS_MS };
    app.settings.add(&secret::token_digest(&token).to_string(), &invite).await?;
    Ok(format!("{}/begin/{token}", app.public()))
}

/// The form.
#[derive(Debug, Clone, Default, Deserialize)]
pub(crate) struct Beginning {
    #[serde(default)]
    house: String,
    #[serde(default)]
    tz: String,
    #[serde(default)]
    name: String,
    login: String,
    password: String,
}

/// What is wrong with it, by field.
#[derive(Debug, Default)]
struct Faults {
    house: Option<&'static str>,
    tz: Option<&'static str>,
    name: Option<&'static str>,
    login: Option<&'static str>,
    password: Option<&'static str>,
}

/// `GET /begin/{token}`
pub(crate) async fn show(
    State(app): State<App>,
    Path(token): Path<String>,
    reader: Reader,
) -> Result<Markup, Problem> {
    let invite = find(&app, &reader, &token).await?;
    Ok(page(&reader, &token, &invite, &Beginning::default(), &Faults::default()))
}

/// `POST /begin/{token}`
pub(crate) async fn begin(
    State(app): State<App>,
    Path(token): Path<String>,
    reader: Reader,
    Form(form): Form<Beginning>,
) -> Result<Response, Problem> {
    // By link: else whoever tries links that are not there would keep the invited out.
    app.limits.enrol(&token)?;
    let invite = find(&app, &reader, &token).await?;
    let faults = check(&app, &reader, &invite, &form).await?;
    if faults.any() {
        return Ok(page(&reader, &token, &invite, &form, &faults).into_response());
    }
    let hash = password::hash(form.password.clone()).await?;
    // The link is taken before anything is made: of two who hold it, one comes in.
    let digest = secret::token_digest(&token).to_string();
    app.settings.take::<Invite>(&digest).await?.ok_or(Problem::Changed)?;
    let person = match invite.person {
        Some(person) => person,
        None => {
            let founding = Founding {
                house: &form.house,
                tz: &form.tz,
                name: &form.name,
                login: &form.login,
                password: &form.password,
                lang: reader.lang,
            };
            found_house(&app, &founding).await?
        }
    };
    let login = Login { person: person.clone(), hash };
    app.settings.add(&login::key(&form.login), &login).await?;
    people::changed(&app, "login", &person).await?;
    let cookie = session::begin(&app, person).await?;
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to("/")).into_response())
}

/// What the first account is made of.
#[derive(Debug)]
pub(crate) struct Founding<'a> {
    pub(crate) house: &'a str,
    pub(crate) tz: &'a str,
    pub(crate) name: &'a str,
    pub(crate) login: &'a str,
    pub(crate) password: &'a str,
    pub(crate) lang: Lang,
}

/// Founds the house without a form; its one-time link is used up.
pub(crate) async fn found(app: &App, founding: &Founding<'_>) -> Result<PersonId, Problem> {
    let hash = password::hash(founding.password.to_owned()).await?;
    for (digest, invite) in app.settings.all::<Invite>().await? {
        if invite.person.is_none() {
            app.settings.take::<Invite>(&digest).await?.ok_or(Problem::Changed)?;
        }
    }
    let person = found_house(app, founding).await?;
    let login = Login { person: person.clone(), hash };
    app.settings.add(&login::key(founding.login), &login).await?;
    Ok(person)
}

/// The first person owns the house.
async fn found_house(app: &App, founding: &Founding<'_>) -> Result<PersonId, Problem> {
    let house = House {
        name: founding.house.trim().to_owned(),
        tz: founding.tz.trim().to_owned(),
        lang: founding.lang,
        ..House::default()
    };
    app.settings.put(house::KEY, &house).await?;
    app.set_house(house);
    let id = people::new_id();
    let person = Person {
        name: ledger::canonical::nfc(founding.name.trim()),
        number: String::new(),
        language: founding.lang,
        role: Role::Proprietor,
        sites: Vec::new(),
        left: false,
        languages: String::new(),
        qualifications: Vec::new(),
    };
    people::put(app, &id, person, &id).await?;
    Ok(id)
}

async fn find(app: &App, reader: &Reader, token: &str) -> Result<Invite, Problem> {
    let digest = secret::token_digest(token).to_string();
    let found = app.settings.get::<Invite>(&digest).await?;
    let lasts = found.filter(|invite| invite.until_ms > app.clock.now_ms());
    lasts.ok_or_else(|| Problem::Bad(desk::begin_used(reader.lang).to_owned()))
}

async fn check(
    app: &App,
    reader: &Reader,
    invite: &Invite,
    form: &Beginning,
) -> Result<Faults, Problem> {
    let lang = reader.lang;
    let needed = |text: &str| text.trim().is_empty().then(|| desk::needed(lang));
    let mut faults = Faults { login: needed(&form.login), ..Faults::default() };
    if faults.login.is_none()
        && app.settings.get::<Login>(&login::key(&form.login)).await?.is_some()
    {
        faults.login = Some(desk::name_taken(lang));
    }
    let house = app.house().name.clone();
    faults.password = password::fault(lang, &form.password, &[&form.login, &form.house, &house]);
    if invite.person.is_none() {
        faults.house = needed(&form.house);
        faults.name = needed(&form.name);
        faults.tz = TimeZone::get(form.tz.trim()).is_err().then(|| desk::tz_unknown(lang));
    }
    Ok(faults)
}

impl Faults {
    fn any(&self) -> bool {
        [self.house, self.tz, self.name, self.login, self.password].iter().any(Option::is_some)
    }
}

fn page(
    reader: &Reader,
    token: &str,
    invite: &Invite,
    form: &Beginning,
    faults: &Faults,
) -> Markup {
    let lang = reader.lang;
    let first = invite.person.is_none();
    let (title, lead) = match first {
        true => (desk::begin_house(lang), desk::begin_lead(lang)),
        false => (desk::begin_invited(lang), desk::begin_invited_lead(lang)),
    };
    let body = html! {
        p.lead { (lead) }
        form method="post" action={ "/begin/" (token) } {
            @if first { (house_fields(lang, form, faults)) }
            (Field::new("login", desk::sign_in_name(lang), desk::login_why(lang))
                .fault(faults.login).text("text", &form.login, true))
            (Field::new("password", desk::new_password(lang), desk::new_password_why(lang))
                .fault(faults.password).text("password", "", true))
            div.submit { button.main { (desk::begin_do(lang)) } }
        }
    };
    frame(reader, title, Place::None, None, body)
}

fn house_fields(lang: Lang, form: &Beginning, faults: &Faults) -> Markup {
    html! {
        (Field::new("house", desk::house_name(lang), desk::house_name_why(lang))
            .fault(faults.house).text("text", &form.house, true))
        (Field::new("tz", desk::house_tz(lang), desk::house_tz_why(lang))
            .fault(faults.tz).text("text", &form.tz, true))
        (Field::new("name", desk::your_name(lang), desk::your_name_why(lang))
            .fault(faults.name).text("text", &form.name, true))
    }
}
