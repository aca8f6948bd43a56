//! What has to stand on one page stands on one, and no card cuts its words.

#[expect(dead_code, reason = "other tests ask more of the outside programs")]
mod outside;
mod told;

use outside::{boxes, page_texts};
use report::{Kind, Paper, Request};
use told::fold;
use words::Lang;

const HOTEL: &str = include_str!("../../../fixtures/nights/gannet-hotel.night");

/// The hotel with everybody on its card whom a notice names.
fn hotel() -> String {
    let contacts = "\
contact owner: Priya Nair, +1 555 0102
contact insurer: Harbour Mutual, +1 555 0100
contact monitoring: Lookout Alarms, +1 555 0101
contact coordinator: Tom Reyes, +1 555 0104
contact engineer: Bell Fire Systems, +1 555 0105
";
    HOTEL.replacen("people: ", &format!("{contacts}people: "), 1)
}

/// The notice of one system on one page, the tags to cut out on the next.
#[test]
fn an_impairment_notice_stands_on_one_page() {
    let folded = fold(&hotel());
    for lang in [Lang::En, Lang::Es] {
        for paper in [Paper::A4, Paper::Letter] {
            let request = Request { lang, paper, ..folded.whole() };
            let pages = page_texts(&Kind::Impairment.to_pdf(&request, "notice").expect("pages"));
            assert_eq!(pages.len(), 2, "{lang:?} {paper:?}: {}", pages[1]);
            assert!(pages[0].contains("Harbour Mutual") && !pages[1].contains("Bell Fire"));
        }
    }
}

/// The last word of a tag, the stop's id, stands inside its card, whatever the names above it are.
#[test]
fn long_names_are_set_smaller_and_never_cut() {
    let long = "Guest floor 1, from the east stair to the linen room, with the two suites over the kitchen and the \
                corridor behind them as far as the door that is kept locked";
    let night = hotel().replacen(
        "name guest-floor-1: Guest floor 1",
        &format!("name guest-floor-1: {long}\nname guest-floor-1-1: {long}"),
        1,
    );
    let folded = fold(&night);
    for paper in [Paper::A4, Paper::Letter] {
        let request = Request { paper, ..folded.whole() };
        let words = boxes(&Kind::Tags.to_pdf(&request, "tags").expect("a page"));
        let ids: Vec<_> = words.iter().filter(|(word, _)| word.ends_with("-1")).collect();
        assert_eq!(ids.len(), 4, "{words:?}");
        // Cards of 62 mm from 11 mm below the edge, each with 4 mm of white inside.
        for (word, [_, _, _, low]) in ids {
            let end = (low - 11.0).rem_euclid(62.0);
            assert!(
                end > 20.0 && end < 58.5,
                "{word} ends {end} mm below the upper edge of its card"
            );
        }
        let whole: Vec<&str> = words.iter().map(|(word, _)| word.as_str()).collect();
        assert_eq!(whole.iter().filter(|word| **word == "locked").count(), 2);
    }
}
