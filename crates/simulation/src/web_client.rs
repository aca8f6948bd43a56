//! Making a client: reqwest is built without a provider of its own for TLS, so that a program has one.

use reqwest::{Client, ClientBuilder};

/// Chooses the provider, once in a process. Whoever makes clients elsewhere calls it before.
pub fn choose_tls() {
    // Whoever came first has chosen the same one.
    let _ = rustls::crypto::ring::default_provider().install_default();
}

/// A client to be dressed further.
pub(crate) fn builder() -> ClientBuilder {
    choose_tls();
    Client::builder()
}

/// A plain client.
pub(crate) fn client() -> Client {
    choose_tls();
    Client::new()
}
