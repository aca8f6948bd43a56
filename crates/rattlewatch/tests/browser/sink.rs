//! A mail server that takes everything (RFC 5321, the least of it) and keeps it to be read.

use anyhow::{Context, Result, bail};
use base64::{Engine, engine::general_purpose::STANDARD};
use std::process::Command;
use std::sync::{Arc, Mutex};
use std::time::Duration;
use tokio::io::{AsyncBufReadExt, AsyncWriteExt, BufReader};
use tokio::net::{TcpListener, TcpStream};

pub(crate) struct Sink {
    pub(crate) url: String,
    mails: Arc<Mutex<Vec<String>>>,
}

impl Sink {
    pub(crate) async fn start() -> Result<Sink> {
        let listener = TcpListener::bind("127.0.0.1:0").await?;
        let url = format!("smtp://{}", listener.local_addr()?);
        let mails: Arc<Mutex<Vec<String>>> = Arc::default();
        let kept = mails.clone();
        tokio::spawn(async move {
            while let Ok((stream, _)) = listener.accept().await {
                let kept = kept.clone();
                tokio::spawn(async move { converse(stream, &kept).await });
            }
        });
        Ok(Sink { url, mails })
    }

    /// The first mail that comes within a time.
    pub(crate) async fn mail(&self, within: Duration) -> Result<String> {
        self.mail_about("", within).await
    }

    /// The first mail that says so and comes within a time.
    pub(crate) async fn mail_about(&self, words: &str, within: Duration) -> Result<String> {
        for _ in 0..within.as_millis() / 100 {
            let mails = self.mails.lock().expect("nobody panics with it").clone();
            // Long headers are folded (RFC 5322, 2.2.3).
            let says = |mail: &String| mail.replace("\n ", " ").contains(words);
            if let Some(mail) = mails.into_iter().find(says) {
                return Ok(mail);
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        bail!("no mail about {words:?} came")
    }

    /// The text of the PDF in a mail, all spaces alike.
    pub(crate) fn report_text(&self, mail: &str) -> Result<String> {
        let part = mail.split("application/pdf").nth(1).context("a PDF is attached")?;
        let body = part.split("\n\n").nth(1).context("the part has a body")?;
        let code: String = body.lines().take_while(|line| !line.starts_with("--")).collect();
        let folder = tempfile::tempdir()?;
        let file = folder.path().join("report.pdf");
        std::fs::write(&file, STANDARD.decode(code.trim())?)?;
        let output = Command::new("pdftotext")
            .arg("-layout")
            .arg(&file)
            .arg("-")
            .output()
            .context("pdftotext is missing: install poppler-utils")?;
        let text = String::from_utf8(output.stdout)?;
        Ok(text.split_whitespace().collect::<Vec<_>>().join(" "))
    }
}

async fn converse(stream: TcpStream, mails: &Mutex<Vec<String>>) -> Option<()> {
    let (read, mut write) = stream.into_split();
    let mut lines = BufReader::new(read).lines();
    write.write_all(b"220 sink\r\n").await.ok()?;
    let mut mail: Option<String> = None;
    while let Some(line) = lines.next_line().await.ok()? {
        let answer = match (&mut mail, line.as_str()) {
            (Some(text), ".") => {
                mails.lock().expect("nobody panics with it").push(std::mem::take(text));
                mail = None;
                "250 taken\r\n"
            }
            (Some(text), line) => {
                text.push_str(line);
                text.push('\n');
                continue;
            }
            (None, line) if line.starts_with("DATA") => {
                mail = Some(String::new());
                "354 go on\r\n"
            }
            (None, line) if line.starts_with("QUIT") => "221 bye\r\n",
            (None, _) => "250 ok\r\n",
        };
        write.write_all(answer.as_bytes()).await.ok()?;
    }
    Some(())
}
