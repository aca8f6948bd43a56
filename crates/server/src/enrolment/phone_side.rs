//! What the phone asks: `POST /enrol`, then `GET /enrol/{token}` until somebody has decided.

use super::{Candidate, Enrolment, Stage, code, first_line};
use crate::problem::Problem;
use crate::router::BodyBytes;
use crate::server::App;
use crate::{device, people, secret};
use axum::Json;
use axum::extract::{Path, Request, State};
use ledger::Digest;
use phone::sync::{EnrolReply, EnrolRequest, Member, Named};

/// `POST /enrol`: a phone shows the token and its key.
pub(crate) async fn begin(
    State(app): State<App>,
    request: Request,
) -> Result<Json<EnrolReply>, Problem> {
    let body = request.extensions().get::<BodyBytes>().map(|b| b.0.clone()).unwrap_or_default();
    let asked: EnrolRequest =
        serde_json::from_slice(&body).map_err(|error| Problem::Bad(error.to_string()))?;
    app.limits.enrol(&asked.token)?;
    device::check(&app, &request, |_| Some(asked.key))?;
    let digest = secret::token_digest(&asked.token);
    let Some(mut enrolment) = open(&app, digest).await? else { return Ok(Json(run_out())) };
    let candidate = Candidate {
        code: code(&asked.key, &asked.token),
        key: asked.key,
        keep: asked.keep,
        line: asked.line,
        sig: asked.sig,
    };
    first_line(&candidate)?;
    match &enrolment.stage {
        Stage::Made => {
            enrolment.stage = Stage::Waiting(candidate);
            app.settings.put(&digest.to_string(), &enrolment).await?;
            app.tell(None);
        }
        Stage::Waiting(first) if first.key != candidate.key => return Ok(Json(taken())),
        Stage::In { key, .. } if *key != candidate.key => return Ok(Json(taken())),
        _ => {}
    }
    reply(&app, &enrolment).await.map(Json)
}

/// `GET /enrol/{token}`: has somebody decided?
pub(crate) async fn ask(
    State(app): State<App>,
    Path(token): Path<String>,
    request: Request,
) -> Result<Json<EnrolReply>, Problem> {
    app.limits.enrol(&token)?;
    let Some(enrolment) = open(&app, secret::token_digest(&token)).await? else {
        return Ok(Json(run_out()));
    };
    let key = match &enrolment.stage {
        Stage::Made | Stage::Refused => None,
        Stage::Waiting(candidate) => Some(candidate.key),
        Stage::In { key, .. } => Some(*key),
    };
    let Some(key) = key else { return Ok(Json(run_out())) };
    device::check(&app, &request, |_| Some(key))?;
    reply(&app, &enrolment).await.map(Json)
}

/// An enrolment that may still go on. A phone that is in may ask again at any time.
async fn open(app: &App, digest: Digest) -> Result<Option<Enrolment>, Problem> {
    let found = app.settings.get::<Enrolment>(&digest.to_string()).await?;
    let now_ms = app.clock.now_ms();
    let lasts = |e: &Enrolment| e.until_ms > now_ms || matches!(e.stage, Stage::In { .. });
    Ok(found.filter(lasts))
}

fn run_out() -> EnrolReply {
    EnrolReply::Refused { says: "this link was used, has run out or was withdrawn".to_owned() }
}

fn taken() -> EnrolReply {
    EnrolReply::Refused { says: "another phone has used this link".to_owned() }
}

async fn reply(app: &App, enrolment: &Enrolment) -> Result<EnrolReply, Problem> {
    let device = match &enrolment.stage {
        Stage::Made | Stage::Refused => return Ok(run_out()),
        Stage::Waiting(candidate) => {
            return Ok(EnrolReply::Waiting { code: candidate.code.clone() });
        }
        Stage::In { device, .. } => *device,
    };
    let person = people::get(app, &enrolment.person).await?;
    Ok(EnrolReply::In(Box::new(Member {
        person: Named { id: enrolment.person.clone(), name: person.name },
        org: app.house().name.clone(),
        origin: app.origin().to_string(),
        log_key: app.log_key().vkey(),
        server_keys: app.scribe.all_keys().collect(),
        watches: super::watches_of(app, device),
        people: people::who_may_take_over(app, device).await?,
        language: Some(person.language.tag().to_owned()),
    })))
}
