//! Mail, handed to the SMTP server that was named at the start.

use crate::options::{Options, StartError};
use crate::problem::Problem;
use crate::server::App;
use lettre::message::header::ContentType;
use lettre::message::{Attachment, Mailbox, MultiPart, SinglePart};
use lettre::{AsyncSmtpTransport, AsyncTransport, Message, Tokio1Executor};
use std::time::Duration;

/// A mail server that says nothing for so long is not there.
const SMTP_TIMEOUT: Duration = Duration::from_secs(30);

/// One mail.
pub(crate) struct Mail {
    /// Under which id it is known when it comes twice; none: drawn.
    pub(crate) key: Option<String>,
    pub(crate) to: String,
    pub(crate) subject: String,
    pub(crate) text: String,
    /// File name and bytes of a PDF.
    pub(crate) pdf: Option<(String, Vec<u8>)>,
}

/// Whether mail could be handed in as the options say; nobody is asked yet.
pub(crate) fn check(options: &Options) -> Result<(), StartError> {
    let Some(url) = options.smtp.as_deref() else { return Ok(()) };
    // The URL may hold a password, so it is not repeated.
    AsyncSmtpTransport::<Tokio1Executor>::from_url(url)
        .map_err(|error| StartError::Smtp(error.to_string()))?;
    let from = &options.mail_from;
    from.parse::<Mailbox>().map_err(|_| StartError::MailFrom(from.clone()))?;
    Ok(())
}

/// Hands it in.
pub(crate) async fn send(app: &App, mail: Mail) -> Result<(), Problem> {
    let failed = |error: &dyn std::fmt::Display| Problem::Machine(format!("mail: {error}"));
    let url = app.options.smtp.as_deref();
    let url = url.ok_or_else(|| failed(&"no mail server is named: start with --smtp URL"))?;
    let transport = AsyncSmtpTransport::<Tokio1Executor>::from_url(url)
        .map_err(|e| failed(&e))?
        .timeout(Some(SMTP_TIMEOUT))
        .build();
    let from: Mailbox = app.options.mail_from.parse().map_err(|e| failed(&e))?;
    let to: Mailbox = mail.to.parse().map_err(|e| failed(&e))?;
    // One line: a subject with line breaks would be headers of somebody else's choice.
    let subject = mail.subject.replace(['\r', '\n'], " ");
    let mut message = Message::builder().from(from).to(to).subject(subject);
    if let Some(key) = mail.key {
        message = message.message_id(Some(format!("<{key}@{}>", app.site.host_name())));
    }
    let pdf = |(name, bytes): (String, Vec<u8>)| {
        ContentType::parse("application/pdf").map(|kind| Attachment::new(name).body(bytes, kind))
    };
    let attached = mail.pdf.map(pdf).transpose().map_err(|e| failed(&e))?;
    let message = match attached {
        Some(pdf) => message
            .multipart(MultiPart::mixed().singlepart(SinglePart::plain(mail.text)).singlepart(pdf)),
        None => message.singlepart(SinglePart::plain(mail.text)),
    };
    let message = message.map_err(|e| failed(&e))?;
    transport.send(message).await.map(|_| ()).map_err(|e| failed(&e))
}
