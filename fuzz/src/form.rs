//! A form with files (RFC 7578) as the desk and the links take it. The first row is its `Content-Type`.

use crate::{Target, text};
use server::from_outside;
use std::cell::RefCell;
use tokio::runtime::{Builder, Runtime};

pub(crate) const TARGET: Target = Target {
    name: "form",
    says: "files of a form hold no more than the form did, and none is empty",
    reads,
    seeds: || {
        let part = |more: &str, holds: &str| {
            format!("--edge\r\nContent-Disposition: form-data; {more}\r\n\r\n{holds}\r\n")
        };
        let parts = [
            part("name=\"text\"", "name,number"),
            part("name=\"file\"; filename=\"people.csv\"", "name\r\nAna Pires\r\n"),
            part("name=\"picture\"; filename*=UTF-8''p%C3%A1gina.png", "\u{89}PNG"),
        ];
        let form = format!("multipart/form-data; boundary=edge\n{}--edge--\r\n", parts.concat());
        let cut = form[..form.len() - 20].to_owned();
        let none = "multipart/form-data\n--edge--\r\n".to_owned();
        [form, cut, none].map(String::into_bytes).into()
    },
    longest: 16 * 1024,
};

thread_local! {
    static RUNTIME: RefCell<Runtime> =
        RefCell::new(Builder::new_current_thread().build().expect("a runtime without a reactor"));
}

fn reads(bytes: &[u8]) {
    let at = bytes.iter().position(|byte| *byte == b'\n').unwrap_or(0);
    let (kind, body) =
        (text(&bytes[..at]), bytes[at..].iter().skip(1).copied().collect::<Vec<u8>>());
    let length = body.len();
    let form = RUNTIME.with_borrow(|runtime| runtime.block_on(from_outside::form(&kind, body)));
    let Ok(files) = form else { return };
    let held: usize = files.iter().map(|(_, length)| *length).sum();
    assert!(held <= length, "files hold {held} bytes of a form of {length}");
    assert!(files.iter().all(|(_, length)| *length > 0), "an empty file was left out");
}
