//! A form that may bring files.

use super::typed::Typed;
use crate::problem::Problem;
use crate::server::App;
use axum::extract::{FromRequest, Multipart, Request};

/// Fields and files of a form sent as `multipart/form-data`.
#[derive(Debug, Default)]
pub(crate) struct Upload {
    pub(crate) typed: Typed,
    /// Name and bytes, without those that were left empty.
    pub(crate) files: Vec<(String, Vec<u8>)>,
}

impl FromRequest<App> for Upload {
    type Rejection = Problem;

    async fn from_request(request: Request, _: &App) -> Result<Upload, Problem> {
        Upload::read(request).await
    }
}

impl Upload {
    /// Reads a form to its end; nothing of it is kept if a part is damaged.
    pub(crate) async fn read(request: Request) -> Result<Upload, Problem> {
        let bad = |says: String| Problem::Bad(says);
        let mut parts =
            Multipart::from_request(request, &()).await.map_err(|e| bad(e.body_text()))?;
        let mut pairs = Vec::new();
        let mut files = Vec::new();
        while let Some(part) = parts.next_field().await.map_err(|e| bad(e.body_text()))? {
            let name = part.name().unwrap_or_default().to_owned();
            let file = part.file_name().map(str::to_owned);
            let bytes = part.bytes().await.map_err(|e| bad(e.body_text()))?;
            match file {
                Some(file) if !bytes.is_empty() => files.push((file, bytes.to_vec())),
                Some(_) => {}
                None => pairs.push((name, String::from_utf8_lossy(&bytes).into_owned())),
            }
        }
        Ok(Upload { typed: Typed::read(pairs), files })
    }
}
