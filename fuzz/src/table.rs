//! Tables as CSV: people and sites (RFC 4180).

use crate::{Target, text};
use server::from_outside;

pub(crate) const TARGET: Target = Target {
    name: "table",
    says: "names and numbers are one line of text; a table that was written comes back the same",
    reads,
    seeds: || {
        [
            "name,number,language,role,qualifications\r\nAna Pires,+1 (555) 010-0,es,guard,Fire watch 2027-01-31|First aid\r\n\"Ortiz, Kai\",,en,shift_lead,\r\n",
            "\u{feff}Name;Town\nAna;Quay\n\n",
            "name,address,town,tz,emergency,practice,cross_street,meet,client,call_spots,equipment\nGannet Hotel,4 Quay Street,Port Gannet,America/Chicago,911,,Rope Walk,Main door,Gannet Hotels,Lobby|Roof,Horn\n",
            "name\n=1+1\n",
            "name\n'-3\n'+1 555\n",
            "name\n\"b \r\nbb\"\n",
        ]
        .map(|text| text.as_bytes().to_vec())
        .into()
    },
    longest: 8 * 1024,
};

fn reads(bytes: &[u8]) {
    let text = &*text(bytes);
    let people = from_outside::people(text).unwrap_or_default();
    let sites = from_outside::sites(text).unwrap_or_default();
    for one in people.iter().chain(&sites) {
        let plain = |text: &str| !text.chars().any(char::is_control) && text.trim() == text;
        assert!(!one.name.is_empty() && plain(&one.name), "a name of one line: {one:?}");
        assert!(plain(&one.number), "a number of one line: {one:?}");
    }
    let Some(written) = from_outside::table_again(text) else { return };
    let read = std::str::from_utf8(&written).expect("what is written is text");
    // Rows that hold nothing in the columns of a table of people are left out the second time.
    if let Some(again) = from_outside::table_again(read) {
        assert_eq!(from_outside::table_again(&String::from_utf8_lossy(&again)), Some(again));
    }
}
