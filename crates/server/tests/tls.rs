//! TLS as a stranger sees it: `openssl s_client` judges the handshake.

mod stage;

use std::process::{Command, Stdio};

#[tokio::test(flavor = "multi_thread")]
async fn the_given_certificate_is_spoken_and_old_tls_is_not() {
    let folder = tempfile::tempdir().unwrap();
    let made = rcgen::generate_simple_self_signed(vec!["localhost".to_owned()]).unwrap();
    let (chain, key) = (folder.path().join("chain.pem"), folder.path().join("key.pem"));
    std::fs::write(&chain, made.cert.pem()).unwrap();
    std::fs::write(&key, made.signing_key.serialize_pem()).unwrap();
    let mut options = stage::options(&folder.path().join("data"));
    options.certificate = Some(server::Certificate { chain: chain.clone(), key });
    let running = server::serve(options).await.unwrap();
    let at = format!("localhost:{}", running.local.port());
    let shake = |more: &[&str]| {
        let output = Command::new("openssl")
            .args(["s_client", "-connect", &at, "-servername", "localhost", "-verify_return_error"])
            .arg("-CAfile")
            .arg(&chain)
            .args(more)
            .stdin(Stdio::null())
            .output()
            .expect("openssl is needed for this test: install it");
        (output.status.success(), String::from_utf8_lossy(&output.stdout).into_owned())
    };
    let (ok, says) = shake(&[]);
    assert!(ok && says.contains("Verify return code: 0 (ok)"), "{says}");
    assert!(says.contains("TLSv1.3"), "{says}");
    assert!(shake(&["-tls1_2"]).0);
    assert!(!shake(&["-tls1_1"]).0, "TLS 1.1 is spoken no more (RFC 8996)");
    // A client that says nothing keeps no other waiting, and plain HTTP gets no answer.
    let _silent = std::net::TcpStream::connect(("127.0.0.1", running.local.port())).unwrap();
    assert!(shake(&[]).0);
    assert!(running.app.public().starts_with("https://"));
    running.stop().await;
}

#[tokio::test]
async fn a_certificate_that_cannot_be_used_is_said_at_the_start() {
    let folder = tempfile::tempdir().unwrap();
    let missing = folder.path().join("nothing.pem");
    let data = folder.path().join("data");
    let mut options = stage::options(&data);
    options.certificate = Some(server::Certificate { chain: missing.clone(), key: missing });
    let error = server::serve(options).await.unwrap_err().to_string();
    assert!(!data.exists(), "nothing is made before the options are known to be right");
    assert!(error.contains("nothing.pem") && error.contains("certificate"), "{error}");
    let mut options = stage::options(&data);
    options.listen = "0.0.0.0:0".parse().unwrap();
    let error = server::serve(options).await.unwrap_err().to_string();
    assert!(error.contains("--tls-cert") && error.contains("--behind-proxy"), "{error}");
}
