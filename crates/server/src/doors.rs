//! Where connections come in: plain on loopback or behind a named proxy, else TLS with the given
//! certificate. A connection that shakes hands slowly keeps no other waiting.

use crate::acme::Fetched;
use crate::handing_on;
use crate::options::{Options, StartError};
use crate::reached_at::Site;
use rustls::ServerConfig;
use rustls::crypto::ring::default_provider;
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use rustls::server::{ClientHello, ResolvesServerCert};
use rustls::sign::CertifiedKey;
use std::io;
use std::net::{IpAddr, SocketAddr};
use std::path::{Path, PathBuf};
use std::pin::Pin;
use std::sync::{Arc, RwLock};
use std::task::{Context, Poll};
use std::time::{Duration, SystemTime};
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, mpsc};
use tokio::task::JoinHandle;
use tokio_rustls::TlsAcceptor;
use tokio_rustls::server::TlsStream;

/// A client that has not shaken hands by then is let go.
const HANDSHAKE: Duration = Duration::from_secs(10);
/// Handshakes at the same time.
const HANDSHAKES_MAX: usize = 256;
/// How often a renewed certificate is looked for.
const RENEWED_EVERY: Duration = Duration::from_secs(60);

/// The certificate's files, PEM.
#[derive(Debug, Clone)]
pub struct Certificate {
    /// The chain, the server's own first.
    pub chain: PathBuf,
    /// Its private key.
    pub key: PathBuf,
}

/// From where a request comes.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Peer(pub(crate) IpAddr);

/// Everything that comes in.
pub(crate) struct Doors {
    accepted: mpsc::Receiver<(Stream, SocketAddr)>,
    taking: JoinHandle<()>,
}

impl Doors {
    /// Whether doors can be opened as the options say: the addresses fit and the given certificate can be
    /// used.
    pub(crate) fn check(options: &Options) -> Result<(), StartError> {
        Site::of(options, options.listen)?;
        options.certificate.as_ref().map(acceptor).transpose()?;
        handing_on::roots(options)?;
        Ok(())
    }

    /// Opens the doors. With a proxy named, only it and this machine come in.
    pub(crate) fn open(listener: TcpListener, options: &Options) -> Result<Doors, StartError> {
        let tls = match (&options.certificate, &options.acme) {
            (Some(certificate), _) => Some(Tls::Given(acceptor(certificate)?)),
            (None, Some(acme)) => {
                let folder = options.data.join("acme");
                Some(Tls::Fetched(Fetched::begin(acme, options.public.as_deref(), &folder)?))
            }
            (None, None) => None,
        };
        let (sender, accepted) = mpsc::channel(64);
        let taking = tokio::spawn(take(listener, options.proxy, tls, sender));
        Ok(Doors { accepted, taking })
    }

    /// Shuts them, and returns once the address is free: this very server may be about to listen there
    /// again, as the one that leads.
    pub(crate) async fn shut(self) {
        drop(self.accepted);
        self.taking.abort();
        // That it was ended is what was wanted.
        let _ = self.taking.await;
    }

    /// The next connection, with whoever made it.
    pub(crate) async fn accept(&mut self) -> (Stream, SocketAddr) {
        match self.accepted.recv().await {
            Some(accepted) => accepted,
            // The task ends only with the program.
            None => std::future::pending().await,
        }
    }
}

/// With which certificate hands are shaken.
#[derive(Clone)]
enum Tls {
    Given(TlsAcceptor),
    Fetched(Fetched),
}

impl Tls {
    async fn accept(&self, stream: TcpStream) -> Option<TlsStream<TcpStream>> {
        match self {
            Tls::Given(acceptor) => acceptor.accept(stream).await.ok(),
            Tls::Fetched(fetched) => fetched.accept(stream).await,
        }
    }
}

async fn take(
    listener: TcpListener,
    proxy: Option<IpAddr>,
    tls: Option<Tls>,
    sender: mpsc::Sender<(Stream, SocketAddr)>,
) {
    let handshakes = Arc::new(Semaphore::new(HANDSHAKES_MAX));
    loop {
        let (stream, peer) = tokio::select! {
            accepted = listener.accept() => match accepted {
                Ok(accepted) => accepted,
                Err(error) => {
                    // Too many open files: others must end first.
                    tracing::warn!(%error, "a connection could not be taken");
                    tokio::time::sleep(Duration::from_millis(200)).await;
                    continue;
                }
            },
            () = sender.closed() => return,
        };
        let from = peer.ip();
        if proxy.is_some_and(|proxy| proxy != from && !from.is_loopback()) {
            tracing::warn!(%from, "a connection that does not come through the proxy was refused");
            continue;
        }
        let Some(tls) = tls.clone() else {
            if sender.send((Stream::Plain(stream), peer)).await.is_err() {
                return;
            }
            continue;
        };
        let Ok(turn) = handshakes.clone().acquire_owned().await else { return };
        let sender = sender.clone();
        tokio::spawn(async move {
            let shaken = tokio::time::timeout(HANDSHAKE, tls.accept(stream)).await;
            drop(turn);
            if let Ok(Some(stream)) = shaken {
                // A server that stops takes nothing more.
                let _ = sender.send((Stream::Tls(Box::new(stream)), peer)).await;
            }
        });
    }
}

/// A connection.
pub(crate) enum Stream {
    Plain(TcpStream),
    Tls(Box<TlsStream<TcpStream>>),
}

impl AsyncRead for Stream {
    fn poll_read(
        self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        buf: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        match self.get_mut() {
            Stream::Plain(stream) => Pin::new(stream).poll_read(cx, buf),
            Stream::Tls(stream) => Pin::new(stream).poll_read(cx, buf),
        }
    }
}

impl AsyncWrite for Stream {
    fn poll_write(
        self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        buf: &[u8],
    ) -> Poll<io::Result<usize>> {
        match self.get_mut() {
            Stream::Plain(stream) => Pin::new(stream).poll_write(cx, buf),
            Stream::Tls(stream) => Pin::new(stream).poll_write(cx, buf),
        }
    }

    fn poll_flush(self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        match self.get_mut() {
            Stream::Plain(stream) => Pin::new(stream).poll_flush(cx),
            Stream::Tls(stream) => Pin::new(stream).poll_flush(cx),
        }
    }

    fn poll_shutdown(self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        match self.get_mut() {
            Stream::Plain(stream) => Pin::new(stream).poll_shutdown(cx),
            Stream::Tls(stream) => Pin::new(stream).poll_shutdown(cx),
        }
    }
}

fn acceptor(certificate: &Certificate) -> Result<TlsAcceptor, StartError> {
    let kept = Arc::new(Renewed { now: RwLock::new(Arc::new(read(certificate)?)) });
    let refused = |error: rustls::Error| StartError::Certificate(error.to_string());
    let mut config = ServerConfig::builder_with_provider(Arc::new(default_provider()))
        .with_safe_default_protocol_versions()
        .map_err(refused)?
        .with_no_client_auth()
        .with_cert_resolver(kept.clone());
    config.alpn_protocols = vec![b"http/1.1".to_vec()];
    tokio::spawn(renew(kept, certificate.clone()));
    Ok(TlsAcceptor::from(Arc::new(config)))
}

fn read(certificate: &Certificate) -> Result<CertifiedKey, StartError> {
    let Certificate { chain, key } = certificate;
    let wrong = |path: &PathBuf, error: &dyn std::fmt::Display| {
        StartError::Certificate(format!("{}: {error}", path.display()))
    };
    let certificates = certificates(chain)?;
    let private = PrivateKeyDer::from_pem_file(key).map_err(|error| wrong(key, &error))?;
    CertifiedKey::from_der(certificates, private, &default_provider())
        .map_err(|error| wrong(chain, &error))
}

/// The certificates of a PEM file, one at least.
pub(crate) fn certificates(file: &Path) -> Result<Vec<CertificateDer<'static>>, StartError> {
    let wrong = |says: &dyn std::fmt::Display| {
        StartError::Certificate(format!("{}: {says}", file.display()))
    };
    let read = CertificateDer::pem_file_iter(file)
        .and_then(Iterator::collect::<Result<Vec<_>, _>>)
        .map_err(|error| wrong(&error))?;
    match read.is_empty() {
        true => Err(wrong(&"holds no certificate: expected PEM")),
        false => Ok(read),
    }
}

/// The certificate in force; a renewed one takes its place without a restart.
#[derive(Debug)]
struct Renewed {
    now: RwLock<Arc<CertifiedKey>>,
}

impl ResolvesServerCert for Renewed {
    fn resolve(&self, _hello: ClientHello<'_>) -> Option<Arc<CertifiedKey>> {
        Some(self.now.read().expect("nothing panics under this lock").clone())
    }
}

async fn renew(kept: Arc<Renewed>, certificate: Certificate) {
    let mut seen = changed(&certificate);
    // The acceptor holds the other one: alone, nobody shakes hands any more.
    while Arc::strong_count(&kept) > 1 {
        tokio::time::sleep(RENEWED_EVERY).await;
        let now = changed(&certificate);
        if now == seen {
            continue;
        }
        match read(&certificate) {
            Ok(new) => {
                *kept.now.write().expect("nothing panics under this lock") = Arc::new(new);
                seen = now;
                tracing::info!("the renewed certificate is in force");
            }
            // Half-written files are read again.
            Err(error) => tracing::warn!(%error, "the renewed certificate cannot be used"),
        }
    }
}

/// When the files were changed last.
fn changed(certificate: &Certificate) -> [Option<SystemTime>; 2] {
    let of = |path: &PathBuf| std::fs::metadata(path).and_then(|data| data.modified()).ok();
    [of(&certificate.chain), of(&certificate.key)]
}
