//! A certificate fetched by ACME: from the first start without one, over the check that the name is ours, to a
//! page over TLS; and after a start without asking again. Who gives it out is a small directory in this test
//! that checks what the standards say is to be checked.

mod directory;
#[path = "../stage/mod.rs"]
mod stage;

use directory::Directory;
use std::net::TcpListener;
use std::time::Duration;

const NAME: &str = "desk.example.org";

#[tokio::test(flavor = "multi_thread")]
async fn a_certificate_is_fetched_for_the_public_name_and_kept() {
    let folder = tempfile::tempdir().unwrap();
    let listen = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
    let directory = Directory::open(listen).await;
    let roots = folder.path().join("roots.pem");
    std::fs::write(&roots, directory.root_pem()).unwrap();
    let mut options = stage::options(&folder.path().join("data"));
    options.listen = listen;
    options.public = Some(format!("https://{NAME}"));
    options.acme = Some(server::Acme {
        directory: Some(directory.url()),
        mail: Some("keeper@example.org".to_owned()),
        roots: Some(roots),
    });
    let running = server::serve(options.clone()).await.unwrap();
    let client = client(&directory, listen);
    let page = until_it_speaks(&client).await;
    assert!(page.contains("The log desk.example.org/house/"), "{page}");
    assert_eq!(directory.given(), 1);
    assert_eq!(directory.contacts(), ["mailto:keeper@example.org"]);
    // Nobody else's name, and no old HTTP in plain.
    let plain = reqwest::Client::new().get(format!("http://{listen}/health")).send().await;
    assert!(plain.is_err(), "plain HTTP gets no answer");
    running.stop().await;

    let running = server::serve(options).await.unwrap();
    until_it_speaks(&client).await;
    assert_eq!(directory.given(), 1, "what was fetched is kept");
    running.stop().await;
}

#[tokio::test]
async fn a_name_is_needed() {
    let folder = tempfile::tempdir().unwrap();
    let mut options = stage::options(folder.path());
    options.acme = Some(server::Acme::default());
    let error = server::serve(options).await.unwrap_err().to_string();
    assert!(error.contains("--public https://NAME"), "{error}");
}

/// Trusts whoever gives the certificate out, and finds the name at the server.
fn client(directory: &Directory, listen: std::net::SocketAddr) -> reqwest::Client {
    let root = reqwest::Certificate::from_pem(directory.root_pem().as_bytes()).unwrap();
    reqwest::Client::builder().tls_certs_only([root]).resolve(NAME, listen).build().unwrap()
}

async fn until_it_speaks(client: &reqwest::Client) -> String {
    for _ in 0..240 {
        if let Ok(answer) = client.get(format!("https://{NAME}/health")).send().await {
            return answer.text().await.unwrap();
        }
        tokio::time::sleep(Duration::from_millis(250)).await;
    }
    panic!("no certificate was fetched");
}
