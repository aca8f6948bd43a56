//! Photos and signatures that are still on the phone: named, with the reason, and with a way out.

use crate::desk::Desk;
use crate::handset::{Handset, Radio};
use crate::{EIGHT_MS, enrolled, touch};
use phone::view::{Block, LineView};
use phone::{Page, Place, Purpose, Tap};

fn listed(phone: &mut Handset, desk: &mut Desk) -> Vec<LineView> {
    phone.tap(desk, Tap::Open(Page::Waiting));
    let mut blocks = phone.view().blocks.into_iter();
    let heading = |block: &Block| *block == Block::Legend("Photos and signatures".to_owned());
    match blocks.find(heading).and_then(|_| blocks.find(|block| matches!(block, Block::Lines(_)))) {
        Some(Block::Lines(rows)) => rows,
        _ => Vec::new(),
    }
}

fn says(row: &LineView) -> String {
    let words = row.words.clone().unwrap_or_default();
    format!("{}: {words}", row.what).replace('\u{a0}', " ")
}

#[test]
fn what_waits_is_named_with_size_and_reason_and_handed_over_as_a_file() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut phone = enrolled(&mut desk, 1, "p-ines", "Ines", "token-1");
    touch(&mut phone, &mut desk, "i-am-here");
    phone.settle(&mut desk);
    phone.radio = Radio::Off;
    phone.tap(&mut desk, Tap::Go(Place::Write));
    touch(&mut phone, &mut desk, "observe");
    touch(&mut phone, &mut desk, "class-exits");
    touch(&mut phone, &mut desk, "at-floor-5");
    let bytes = vec![7; 1_234_567];
    let photo = phone.photo(&mut desk, &bytes, Purpose::Photo);
    phone.photo(&mut desk, b"an order to go on by hand", Purpose::Permit);
    phone.wait_s(&mut desk, 20);

    let rows = listed(&mut phone, &mut desk);
    let said: Vec<String> = rows.iter().map(says).collect();
    assert_eq!(said.len(), 2, "{said:?}");
    assert!(said[0].starts_with("Photo: Exits and stairs, Floor 5"), "{said:?}");
    assert!(said[0].ends_with("1.2 MB, waits for a network"), "{said:?}");
    assert_eq!(said[1], "Photo, named by no line yet: 1 kB, waits for a network");
    assert!(!rows[0].time.is_empty() && rows[1].time.is_empty());

    let save = rows[0].open.clone().expect("a touch saves it");
    phone.tap(&mut desk, save.tap);
    assert_eq!(
        phone.handed_over[&format!("{photo}.jpg")],
        bytes,
        "the same bytes as its name says"
    );

    phone.radio = Radio::On;
    phone.settle(&mut desk);
    let left: Vec<String> = listed(&mut phone, &mut desk).iter().map(says).collect();
    assert!(left.is_empty(), "{left:?}");
}
