//! Whether a phone can keep the app: every file that it will keep arrives with the digest that it will check.

use super::Found;
use super::outside::Server;
use anyhow::Context;
use reqwest::header;
use serde_json::Value;
use sha2::{Digest, Sha256};

/// What of the files counts.
struct Kept {
    files: usize,
    /// Bytes on the way as a browser asks for them.
    sent: usize,
    /// Files that arrive larger than they were packed.
    plain: usize,
}

pub(crate) async fn look(server: &Server) -> Found {
    let what = "phone";
    match fetch(server).await {
        Ok(kept) if kept.plain > 0 => Found::fails(
            what,
            format!(
                "{} of {} files arrive unpacked: the proxy must pass Accept-Encoding on and leave packed answers as \
                 they are",
                kept.plain, kept.files
            ),
        ),
        Ok(kept) => Found::holds(
            what,
            format!(
                "{} files arrive whole, {} kB on a first visit",
                kept.files,
                kept.sent.div_ceil(1000)
            ),
        ),
        Err(error) => Found::fails(what, format!("a phone could not keep the app: {error:#}")),
    }
}

async fn fetch(server: &Server) -> anyhow::Result<Kept> {
    let list: Value = serde_json::from_slice(&get(server, "files.json", "identity").await?.0)
        .context(
            "the list of the phone's files is no list: is the path /phone/ led to the server?",
        )?;
    let files = list["files"].as_array().context("the list names no files")?;
    let mut kept = Kept { files: files.len(), sent: 0, plain: 0 };
    for file in files {
        let (path, digest) = (file["path"].as_str(), file["sha256"].as_str());
        let (path, digest) = path.zip(digest).context("a file without name or digest")?;
        let (bytes, _) = get(server, path, "identity").await?;
        let found: String =
            Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect();
        anyhow::ensure!(
            found == digest,
            "{path} arrives changed: something on the way rewrites it"
        );
        let (sent, is_packed) = get(server, path, "br").await?;
        kept.sent += sent.len();
        kept.plain += usize::from(!is_packed);
    }
    Ok(kept)
}

/// The bytes of a file as they arrive, and whether they are packed.
async fn get(server: &Server, path: &str, accept: &str) -> anyhow::Result<(Vec<u8>, bool)> {
    let request = server.client.get(format!("{}/phone/{path}", server.address));
    let answer = request.header(header::ACCEPT_ENCODING, accept).send().await?;
    anyhow::ensure!(answer.status().is_success(), "{path}: {}", answer.status());
    let is_packed = answer.headers().get(header::CONTENT_ENCODING).is_some_and(|how| how == "br");
    Ok((answer.bytes().await?.to_vec(), is_packed))
}
