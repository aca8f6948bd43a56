//! The database goes away and comes back.

use crate::cluster;
use crate::stage::{Stage, options};
use phone::sync::Is;
use reqwest::{Method, StatusCode};
use sqlx::{AssertSqlSafe, Connection, PgConnection};
use std::time::Duration;

/// Runs a statement beside the database under test.
async fn beside(url: &str, statement: String) {
    let (server, _) = url.rsplit_once('/').unwrap();
    let mut connection = PgConnection::connect(&format!("{server}/postgres")).await.unwrap();
    sqlx::query(AssertSqlSafe(statement)).execute(&mut connection).await.unwrap();
}

/// What was acknowledged is there afterwards, what was not is taken once it is sent again, and meanwhile the
/// desk says that it cannot be read. A server that does not know whether a write is durable ends itself,
/// and a fresh one reads what is there.
#[tokio::test(flavor = "multi_thread")]
async fn a_database_that_goes_and_comes_back_loses_nothing_that_was_acknowledged() {
    let url = cluster::new_database().await;
    let name = url.rsplit_once('/').unwrap().1.to_owned();
    let database = url.clone();
    let stage = Stage::with(move |options| options.database = Some(database)).await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    phone.sync().await;
    assert!(phone.waiting.is_empty());
    let acknowledged = phone.head.clone().unwrap().size;

    beside(&url, format!("ALTER DATABASE {name} ALLOW_CONNECTIONS false")).await;
    let cut =
        format!("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{name}'");
    beside(&url, cut).await;
    phone.sees(&watch, "floor-2");
    let body = serde_json::to_vec(&phone.request()).unwrap();
    let answer =
        tokio::time::timeout(Duration::from_secs(60), phone.signed(Method::POST, "/sync", body));
    let answer = answer.await.expect("an answer, not silence");
    assert!(answer.status().is_server_error(), "{}", answer.status());
    let says = answer.text().await.unwrap();
    assert!(!says.contains(&name), "nothing of the inside is told: {says}");
    assert_eq!(phone.waiting.len(), 1, "the phone keeps it");
    let page = tokio::time::timeout(Duration::from_secs(60), stage.get("/sites")).await.unwrap();
    assert!(page.status().is_server_error());
    assert!(page.text().await.unwrap().contains("<main"), "a page that says what to do");

    beside(&url, format!("ALTER DATABASE {name} ALLOW_CONNECTIONS true")).await;
    // The same process goes on by itself, or has ended itself and is started again by whoever runs it.
    let mut stage = stage;
    let mut goes_on = false;
    for _ in 0..40 {
        let body = serde_json::to_vec(&phone.request()).unwrap();
        goes_on = phone.signed(Method::POST, "/sync", body).await.status().is_success();
        let ended = tokio::time::timeout(Duration::from_millis(500), stage.running.failed()).await;
        if goes_on || ended.is_ok() {
            break;
        }
    }
    println!("the same process went on: {goes_on}");
    if !goes_on {
        let Stage { folder, running, client, cookie, store, asks } = stage;
        let local = running.local;
        running.stop().await;
        let again =
            server::Options { listen: local, database: Some(url), ..options(folder.path()) };
        let running = server::serve(again).await.unwrap();
        stage = Stage { folder, running, client, cookie, store, asks };
    }
    let outcomes = phone.sync().await.outcomes;
    assert!(outcomes.iter().all(|o| matches!(o.is, Is::Received | Is::Again)), "{outcomes:?}");
    assert!(phone.waiting.is_empty() && phone.head.as_ref().unwrap().size > acknowledged);
    let page = stage.get(&format!("/watch/{watch}")).await;
    assert_eq!(page.status(), StatusCode::OK);
    stage.running.stop().await;
}
