//! What a request can be told instead of an answer. The one file that maps faults to HTTP.

use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use store::StoreError;

/// Why a request was not answered as asked. Each says what to do next when it is shown.
#[derive(Debug, Clone, thiserror::Error)]
pub enum Problem {
    /// There is no such page or thing, or the caller may not know of it.
    #[error("there is nothing here")]
    NotFound,
    /// There is such a page or thing, and nothing of this kind can be done with it.
    #[error("this cannot be done here")]
    Method,
    /// A link for a guest that was revoked, has run out, or never was.
    #[error("this link opens nothing: ask whoever sent it for a new one")]
    LinkOver,
    /// The client sends too slowly.
    #[error("the request took too long to arrive: try again")]
    Slow,
    /// Nobody is signed in.
    #[error("sign in first")]
    SignIn,
    /// The caller's role does not allow it.
    #[error("your role does not allow this")]
    Forbidden,
    /// The request comes from another site's page.
    #[error("this request came from another site")]
    OtherSite,
    /// Too many tries.
    #[error("too many tries: wait {retry_s} s")]
    TooMany {
        /// When to try again, s.
        retry_s: u64,
    },
    /// Something in the request is wrong.
    #[error("{0}")]
    Bad(String),
    /// A device's signature, time or key is not accepted.
    #[error("{0}")]
    Device(String),
    /// Larger than allowed.
    #[error("this is larger than {limit_bytes} bytes, which is the limit")]
    TooLarge {
        /// The limit.
        limit_bytes: usize,
    },
    /// This server stands by: another one takes lines and forms, and what is read only with an entry.
    #[error(
        "this server stands by and only reads: send it again to the one that leads{}",
        .leader.as_ref().map(|url| format!(", {url}")).unwrap_or_default()
    )]
    StandsBy {
        /// The address of the one that leads, if it has another.
        leader: Option<String>,
    },
    /// Somebody else changed the same thing meanwhile.
    #[error("somebody changed this meanwhile: look again, then repeat")]
    Changed,
    /// The store did not do it.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The machine did not do it.
    #[error("{0}")]
    Machine(String),
}

impl Problem {
    /// The HTTP status.
    pub fn status(&self) -> StatusCode {
        match self {
            Problem::NotFound => StatusCode::NOT_FOUND,
            Problem::Method => StatusCode::METHOD_NOT_ALLOWED,
            Problem::LinkOver => StatusCode::GONE,
            Problem::Slow => StatusCode::REQUEST_TIMEOUT,
            Problem::SignIn | Problem::Device(_) => StatusCode::UNAUTHORIZED,
            Problem::Forbidden | Problem::OtherSite => StatusCode::FORBIDDEN,
            Problem::TooMany { .. } => StatusCode::TOO_MANY_REQUESTS,
            Problem::Bad(_) => StatusCode::UNPROCESSABLE_ENTITY,
            Problem::TooLarge { .. } => StatusCode::PAYLOAD_TOO_LARGE,
            Problem::Changed => StatusCode::CONFLICT,
            Problem::StandsBy { .. } => StatusCode::SERVICE_UNAVAILABLE,
            Problem::Store(StoreError::BlobTooLarge { .. }) => StatusCode::PAYLOAD_TOO_LARGE,
            Problem::Store(StoreError::OtherDigest { .. } | StoreError::PieceOffset { .. }) => {
                StatusCode::UNPROCESSABLE_ENTITY
            }
            Problem::Store(_) => StatusCode::SERVICE_UNAVAILABLE,
            Problem::Machine(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        if self.status().is_server_error() && !matches!(self, Problem::StandsBy { .. }) {
            tracing::error!(problem = %self, "a request failed");
        }
        let mut response = self.status().into_response();
        if let Problem::TooMany { retry_s } = self {
            response.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from(retry_s));
        }
        // `page::dress` turns this into a page in the reader's language, or into JSON.
        response.extensions_mut().insert(self);
        response
    }
}
