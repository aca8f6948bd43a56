//! Listens, serves, and stops without dropping what was begun.

use crate::delivery::mail;
use crate::doors::Doors;
use crate::options::{Options, StartError};
use crate::router::router;
use crate::server::{App, Server, open_store};
use crate::{alerts, asked_here, connections, delivery, folder, nightly, second};
use std::future::Future;
use std::net::SocketAddr;
use std::time::Duration;
use store::StoreError;
use tokio::net::TcpListener;
use tokio::sync::watch;
use tokio::task::JoinHandle;

/// How long requests that run may take to end.
const PATIENCE: Duration = Duration::from_secs(10);

/// A server that runs.
#[derive(Debug)]
pub struct Running {
    /// What it shares.
    pub app: App,
    /// Where it listens.
    pub local: SocketAddr,
    stop: watch::Sender<bool>,
    tasks: Vec<JoinHandle<()>>,
}

/// Opens the data folder and begins to serve.
pub async fn serve(options: Options) -> Result<Running, StartError> {
    // What the options alone show to be wrong is said before the record is touched.
    Doors::check(&options)?;
    mail::check(&options)?;
    folder::check(&options.data)?;
    // Whoever stands by takes no connections.
    let store = open_store(&options).await?;
    let listener = listen(options.listen).await?;
    let local = listener.local_addr()?;
    let doors = Doors::open(listener, &options)?;
    let app = Server::open(options, local, store).await?;
    // What came due while the server was down is caught up before anybody sees a page.
    alerts::look(&app).await;
    let (stop, stopped) = watch::channel(false);
    let served = connections::serve(doors, router(app.clone()), stopped.clone());
    let alerting = until(alerts::run(app.clone()), stopped.clone());
    let calling = until(alerts::send(app.clone()), stopped.clone());
    let sending = until(delivery::run(app.clone()), stopped.clone());
    let scrubbing = until(nightly::run(app.clone()), stopped.clone());
    let announcing = until(second::run(app.clone()), stopped.clone());
    let answering = until(asked_here::run(app.clone()), stopped);
    let tasks = vec![
        tokio::spawn(served),
        tokio::spawn(alerting),
        tokio::spawn(calling),
        tokio::spawn(sending),
        tokio::spawn(scrubbing),
        tokio::spawn(announcing),
        tokio::spawn(answering),
    ];
    Ok(Running { app, local, stop, tasks })
}

/// Listens, or says what stands in the way.
pub(crate) async fn listen(at: SocketAddr) -> Result<TcpListener, StartError> {
    TcpListener::bind(at).await.map_err(|error| StartError::Listen { at, error })
}

impl Running {
    /// Waits until nothing can be written any more. The process must then end: only a fresh start
    /// reads what really is on the disk.
    pub async fn failed(&self) -> StoreError {
        loop {
            if let Some(error) = self.app.store.fatal() {
                return error;
            }
            tokio::time::sleep(Duration::from_millis(200)).await;
        }
    }

    /// Stops taking requests, lets those that run end, and waits. Event streams end at once.
    pub async fn stop(self) {
        let _ = self.stop.send(true);
        self.app.end_streams();
        for task in self.tasks {
            let _ = tokio::time::timeout(PATIENCE, task).await;
        }
        let store = self.app.store.clone();
        drop(self.app);
        if tokio::time::timeout(PATIENCE, store.close()).await.is_err() {
            tracing::warn!("a request is still running; what was acknowledged is on the disk");
        }
    }
}

async fn until(work: impl Future<Output = ()>, stopped: watch::Receiver<bool>) {
    tokio::select! {
        () = work => {}
        () = connections::told(stopped) => {}
    }
}
