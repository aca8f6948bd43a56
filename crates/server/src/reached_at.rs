//! Under which addresses we answer.

use crate::options::{Options, StartError};
use std::net::SocketAddr;

/// Our addresses.
#[derive(Debug, Clone)]
pub(crate) struct Site {
    /// Without a slash at the end.
    pub(crate) public: String,
    /// Values of `Origin` that are ours.
    pub(crate) origins: Vec<String>,
    /// Values of `Host` that are ours.
    pub(crate) hosts: Vec<String>,
    /// Whether browsers speak TLS with us.
    pub(crate) secure: bool,
}

impl Site {
    pub(crate) fn of(options: &Options, local: SocketAddr) -> Result<Site, StartError> {
        let tls = options.certificate.is_some() || options.acme.is_some();
        if !local.ip().is_loopback() && options.proxy.is_none() && !tls {
            return Err(StartError::Exposed(local));
        }
        let speaks = if tls { "https" } else { "http" };
        let local_url = format!("{speaks}://{local}");
        let public = options.public.clone().unwrap_or_else(|| local_url.clone());
        let public = public.trim_end_matches('/').to_owned();
        let wrong = || StartError::Public(public.clone());
        let (scheme, host) = public.split_once("://").ok_or_else(wrong)?;
        let plain = host.starts_with("127.0.0.1") || host.starts_with("localhost");
        let allowed =
            scheme == "https" || (scheme == "http" && (plain || options.public.is_none()));
        if host.is_empty() || host.contains('/') || !allowed {
            return Err(wrong());
        }
        let port = local.port();
        let hosts = vec![host.to_owned(), local.to_string(), format!("localhost:{port}")];
        let origins = vec![public.clone(), local_url, format!("{speaks}://localhost:{port}")];
        let secure = scheme == "https";
        Ok(Site { public, origins, hosts, secure })
    }

    /// The host without its port, as it stands in the log's name.
    pub(crate) fn host_name(&self) -> &str {
        let host = self.public.split_once("://").map_or(self.public.as_str(), |(_, host)| host);
        host.split(':').next().unwrap_or(host)
    }
}
