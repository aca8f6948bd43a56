//! A certificate that the server fetches and renews itself (ACME, RFC 8555, with the TLS-ALPN-01 challenge of
//! RFC 8737, so that no other port is needed; by `rustls-acme`).

use crate::doors;
use crate::options::StartError;
use futures_util::StreamExt;
use rustls::crypto::ring::default_provider;
use rustls::{ClientConfig, RootCertStore, ServerConfig};
use rustls_acme::caches::DirCache;
use rustls_acme::{AcmeConfig, is_tls_alpn_challenge};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use tokio::io::AsyncWriteExt;
use tokio::net::TcpStream;
use tokio_rustls::LazyConfigAcceptor;
use tokio_rustls::server::TlsStream;

/// Who gives certificates out, and whom they may write to.
#[derive(Debug, Clone, Default)]
pub struct Acme {
    /// The directory's address; none: Let's Encrypt.
    pub directory: Option<String>,
    /// A mail address for whoever gives the certificate out.
    pub mail: Option<String>,
    /// The root certificates, PEM, by which the directory itself is known; none: the public ones.
    pub roots: Option<PathBuf>,
}

/// What is spoken: with whoever checks that the name is ours, and with everybody else.
#[derive(Clone)]
pub(crate) struct Fetched {
    challenge: Arc<ServerConfig>,
    usual: Arc<ServerConfig>,
}

impl Fetched {
    /// Begins to fetch a certificate for the public name. What was fetched is kept in `folder`, so that a
    /// start does not ask again.
    pub(crate) fn begin(
        acme: &Acme,
        public: Option<&str>,
        folder: &Path,
    ) -> Result<Fetched, StartError> {
        let name = name_of(public).ok_or_else(|| {
            let says = "--acme needs --public https://NAME, a name that leads to this server";
            StartError::Certificate(says.to_owned())
        })?;
        crate::server::make_folder(folder)?;
        let provider = Arc::new(default_provider());
        let mut config = match &acme.roots {
            None => AcmeConfig::new_with_provider([name], provider.clone()),
            Some(roots) => AcmeConfig::new_with_client_config([name], knows(roots)?),
        };
        if let Some(mail) = &acme.mail {
            config = config.contact_push(format!("mailto:{mail}"));
        }
        config = match &acme.directory {
            Some(directory) => config.directory(directory),
            None => config.directory_lets_encrypt(true),
        };
        let mut state = config.cache(DirCache::new(folder.to_owned())).state();
        let challenge = state.challenge_rustls_config_with_provider(provider.clone());
        let mut usual = (*state.default_rustls_config_with_provider(provider)).clone();
        usual.alpn_protocols = vec![b"http/1.1".to_vec()];
        tokio::spawn(async move {
            // It orders, renews in time, and waits longer after each failure.
            while let Some(event) = state.next().await {
                match event {
                    Ok(event) => tracing::info!(?event, "certificate"),
                    Err(error) => {
                        tracing::error!(%error, "the certificate could not be fetched or renewed")
                    }
                }
            }
        });
        Ok(Fetched { challenge, usual: Arc::new(usual) })
    }

    /// Shakes hands; none with whoever only checks the name, and with whom it fails.
    pub(crate) async fn accept(&self, stream: TcpStream) -> Option<TlsStream<TcpStream>> {
        let hello = LazyConfigAcceptor::new(Default::default(), stream).await.ok()?;
        if !is_tls_alpn_challenge(&hello.client_hello()) {
            return hello.into_stream(self.usual.clone()).await.ok();
        }
        let mut checked = hello.into_stream(self.challenge.clone()).await.ok()?;
        // Whoever checks has seen the certificate by then.
        let _ = checked.shutdown().await;
        None
    }
}

/// The host of `https://HOST`, if it is a name; certificates are given to names.
fn name_of(public: Option<&str>) -> Option<String> {
    let host = public?.strip_prefix("https://")?.trim_end_matches('/');
    let host = host.split(':').next()?;
    let is_name = host.contains('.') && host.parse::<std::net::IpAddr>().is_err();
    is_name.then(|| host.to_owned())
}

fn knows(roots: &Path) -> Result<Arc<ClientConfig>, StartError> {
    let wrong = |error: &dyn std::fmt::Display| {
        StartError::Certificate(format!("{}: {error}", roots.display()))
    };
    let mut store = RootCertStore::empty();
    for certificate in doors::certificates(roots)? {
        store.add(certificate).map_err(|error| wrong(&error))?;
    }
    let config = ClientConfig::builder_with_provider(Arc::new(default_provider()))
        .with_safe_default_protocol_versions()
        .map_err(|error| wrong(&error))?;
    Ok(Arc::new(config.with_root_certificates(store).with_no_client_auth()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn certificates_are_given_to_names_alone() {
        assert_eq!(name_of(Some("https://desk.example.org/")).as_deref(), Some("desk.example.org"));
        assert_eq!(
            name_of(Some("https://desk.example.org:8443")).as_deref(),
            Some("desk.example.org")
        );
        for other in ["http://desk.example.org", "https://192.0.2.7", "https://localhost"] {
            assert_eq!(name_of(Some(other)), None, "{other}");
        }
        assert_eq!(name_of(None), None);
    }
}
