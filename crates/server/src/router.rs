//! The router: every route is added by its row in the role table and guarded by it.

use crate::account::caller::{self, Caller};
use crate::problem::Problem;
use crate::roles::{self, Rule, Who};
use crate::{App, device, handing_on, headers, noting, page, twice};
use axum::Router;
use axum::body::Body;
use axum::extract::{Request, State};
use axum::handler::Handler;
use axum::http::{Method, StatusCode, Uri, header};
use axum::middleware::{Next, from_fn_with_state};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{MethodFilter, on};
use std::time::Duration;

/// Builds the router.
pub fn router(app: App) -> Router {
    let routes = crate::routes::add_all(Routes::new(app.clone()));
    let missing: Vec<_> = roles::TABLE
        .iter()
        .filter(|rule| !routes.added.contains(&(rule.method.clone(), rule.path)))
        .map(|rule| format!("{} {}", rule.method, rule.path))
        .collect();
    assert!(missing.is_empty(), "in the role table, but nobody serves it: {missing:?}");
    routes
        .router
        .fallback(|| async { Problem::NotFound })
        .method_not_allowed_fallback(|| async { Problem::Method })
        // The role table states each limit, and `bounded` has read no more.
        .layer(axum::extract::DefaultBodyLimit::disable())
        .layer(from_fn_with_state(app.clone(), page::dress))
        .layer(from_fn_with_state(app.clone(), check_host))
        .layer(from_fn_with_state(app.clone(), headers::guard))
        .with_state(app)
}

/// Collects routes; each must have its row in the role table.
pub(crate) struct Routes {
    app: App,
    router: Router<App>,
    added: Vec<(Method, &'static str)>,
}

impl Routes {
    fn new(app: App) -> Routes {
        Routes { app, router: Router::new(), added: Vec::new() }
    }

    /// Serves a page.
    pub(crate) fn get<T: 'static>(self, path: &'static str, handler: impl Handler<T, App>) -> Self {
        self.add(Method::GET, MethodFilter::GET, path, handler)
    }

    /// Takes a form or a message.
    pub(crate) fn post<T: 'static>(
        self,
        path: &'static str,
        handler: impl Handler<T, App>,
    ) -> Self {
        self.add(Method::POST, MethodFilter::POST, path, handler)
    }

    /// Takes a blob.
    pub(crate) fn put<T: 'static>(self, path: &'static str, handler: impl Handler<T, App>) -> Self {
        self.add(Method::PUT, MethodFilter::PUT, path, handler)
    }

    fn add<T: 'static>(
        mut self,
        method: Method,
        filter: MethodFilter,
        path: &'static str,
        handler: impl Handler<T, App>,
    ) -> Self {
        let rule = roles::rule_of(&method, path)
            .unwrap_or_else(|| panic!("{method} {path} is not in the role table"));
        let guard = from_fn_with_state((self.app.clone(), rule), check);
        self.router = self.router.route(path, on(filter, handler).layer(guard));
        self.added.push((method, path));
        self
    }
}

/// Lets a request through to its route only if the rule allows its caller.
async fn check(
    State((app, rule)): State<(App, &'static Rule)>,
    request: Request,
    next: Next,
) -> Response {
    if app.stands_by && rule.by_leader {
        let handed = async move { handing_on::hand_on(&app, rule, request).await.into_response() };
        return to_the_end(handed).await;
    }
    match allow(&app, rule, request).await {
        Ok(request) => to_the_end(answer(app, rule, request, next)).await,
        Err(Problem::SignIn)
            if matches!(rule.who, Who::Signed(_)) && rule.method == Method::GET =>
        {
            Redirect::to("/sign-in").into_response()
        }
        Err(problem) => problem.into_response(),
    }
}

/// Answers a request that was let in. What is read only with an entry has its entry first.
async fn answer(app: App, rule: &'static Rule, mut request: Request, next: Next) -> Response {
    if let Some(owed) = noting::owed(&app, rule, &mut request).await {
        if app.stands_by {
            return handing_on::hand_on(&app, rule, request).await.into_response();
        }
        if let Err(problem) = noting::note(&app, owed).await {
            return problem.into_response();
        }
    }
    twice::once(&app, request, next).await
}

/// What was begun is done, also when whoever asked has gone meanwhile: else a line could stand in the log
/// and be missing on the desk, or half of what a form does be done.
async fn to_the_end(answer: impl Future<Output = Response> + Send + 'static) -> Response {
    match tokio::spawn(answer).await {
        Ok(response) => response,
        Err(error) if error.is_panic() => std::panic::resume_unwind(error.into_panic()),
        Err(error) => Problem::Machine(error.to_string()).into_response(),
    }
}

async fn allow(app: &App, rule: &Rule, request: Request) -> Result<Request, Problem> {
    let mut request = bounded(rule, request).await?;
    match rule.who {
        Who::Device => {
            let device = device::authenticate(app, &request)?;
            request.extensions_mut().insert(device);
        }
        Who::Anyone => {
            if let Ok(Some(caller)) = caller::of(app, request.headers()).await {
                request.extensions_mut().insert::<Caller>(caller);
            }
            if rule.path != "/enrol" {
                headers::check_same_site(&rule.method, request.headers(), &app.site.origins)?;
            }
        }
        Who::Guest(_) => {
            headers::check_same_site(&rule.method, request.headers(), &app.site.origins)?;
            let guest = crate::links::Guest::of(app, rule, request.uri().path()).await?;
            request.extensions_mut().insert(guest);
        }
        Who::Reader(_) => {
            if let Some(program) = crate::api::of(app, request.headers()).await? {
                request.extensions_mut().insert(program);
            } else {
                let caller = caller::of(app, request.headers()).await?.ok_or(Problem::SignIn)?;
                if !rule.allows(caller.role) {
                    return Err(Problem::Forbidden);
                }
                request.extensions_mut().insert::<Caller>(caller);
            }
        }
        Who::Signed(_) => {
            headers::check_same_site(&rule.method, request.headers(), &app.site.origins)?;
            let caller = caller::of(app, request.headers()).await?.ok_or(Problem::SignIn)?;
            if !rule.allows(caller.role) {
                return Err(Problem::Forbidden);
            }
            request.extensions_mut().insert::<Caller>(caller);
        }
    }
    Ok(request)
}

/// The bytes of a request's body, read once up to the limit of its rule.
#[derive(Debug, Clone)]
pub(crate) struct BodyBytes(pub(crate) axum::body::Bytes);

/// A body takes at most so long, and longer for a large one: phones send over poor networks.
const BODY_LEAST: Duration = Duration::from_secs(30);
const BODY_BYTES_PER_S: usize = 16 * 1024;

pub(crate) async fn bounded(rule: &Rule, request: Request) -> Result<Request, Problem> {
    let (mut parts, body) = request.into_parts();
    let most = BODY_LEAST + Duration::from_secs((rule.body_bytes_max / BODY_BYTES_PER_S) as u64);
    let bytes = tokio::time::timeout(most, axum::body::to_bytes(body, rule.body_bytes_max))
        .await
        .map_err(|_| Problem::Slow)?
        .map_err(|_| Problem::TooLarge { limit_bytes: rule.body_bytes_max })?;
    parts.extensions.insert(BodyBytes(bytes.clone()));
    Ok(Request::from_parts(parts, Body::from(bytes)))
}

/// Answers only under our own names, so that a foreign name that points at this machine gets nothing.
async fn check_host(State(app): State<App>, request: Request, next: Next) -> Response {
    let host = request.headers().get(header::HOST).and_then(|value| value.to_str().ok());
    let host = host.or(request.uri().authority().map(|authority| authority.as_str()));
    let ours = host.is_some_and(|host| app.site.hosts.iter().any(|ours| ours == host));
    if ours {
        next.run(request).await
    } else {
        (StatusCode::MISDIRECTED_REQUEST, "This server does not answer under that name.\n")
            .into_response()
    }
}

/// The path without its query, as a device signs it.
pub(crate) fn path_of(uri: &Uri) -> &str {
    uri.path()
}
