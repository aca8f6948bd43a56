//! Every connection: its requests one after the other, none that keeps the head of a request back, and an
//! orderly end.

use crate::doors::{Doors, Peer, Stream};
use axum::Router;
use axum::body::Body;
use axum::extract::ConnectInfo;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use std::pin::pin;
use std::time::Duration;
use tokio::sync::watch;
use tokio::task::JoinSet;
use tower::ServiceExt;

/// The head of a request must be here by then, also that of the next one on a connection that stays
/// open; bodies have a time of their own (`router::bounded`).
const HEAD: Duration = Duration::from_secs(15);

/// Serves what comes in until it is told to stop; then lets what runs end.
pub(crate) async fn serve(mut doors: Doors, router: Router, stopped: watch::Receiver<bool>) {
    let mut running = JoinSet::new();
    loop {
        let (stream, peer) = tokio::select! {
            accepted = doors.accept() => accepted,
            () = told(stopped.clone()) => break,
            // Those that ended are forgotten.
            Some(_) = running.join_next() => continue,
        };
        running.spawn(one(stream, Peer(peer.ip()), router.clone(), stopped.clone()));
    }
    doors.shut().await;
    while running.join_next().await.is_some() {}
}

async fn one(stream: Stream, peer: Peer, router: Router, stopped: watch::Receiver<bool>) {
    let service = service_fn(move |request: hyper::Request<Incoming>| {
        let mut request = request.map(Body::new);
        request.extensions_mut().insert(ConnectInfo(peer));
        router.clone().oneshot(request)
    });
    let mut builder = http1::Builder::new();
    builder.timer(TokioTimer::new()).header_read_timeout(HEAD);
    let mut connection = pin!(builder.serve_connection(TokioIo::new(stream), service));
    tokio::select! {
        // A client that hung up or sent no HTTP is no fault of ours.
        _ = connection.as_mut() => return,
        () = told(stopped) => connection.as_mut().graceful_shutdown(),
    }
    let _ = connection.await;
}

/// Waits for the word to stop.
pub(crate) async fn told(mut stopped: watch::Receiver<bool>) {
    // A closed channel means the same as a stop.
    let _ = stopped.wait_for(|stop| *stop).await;
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Options;
    use std::net::SocketAddr;
    use std::path::Path;
    use tokio::net::TcpListener;

    /// A server that stood by listens where it did before when it leads; with the address still taken for
    /// a moment it would end instead.
    #[tokio::test(flavor = "multi_thread")]
    async fn the_address_is_free_once_the_doors_are_shut() {
        let mut at = SocketAddr::from(([127, 0, 0, 1], 0));
        for _ in 0..200 {
            let listener = TcpListener::bind(at).await.expect("the address is free");
            at = listener.local_addr().unwrap();
            let doors = Doors::open(listener, &Options::in_folder(Path::new("unused"))).unwrap();
            doors.shut().await;
        }
    }
}
