//! Eight questions that a fire marshal asks in the morning, answered by page one alone, on a night on which
//! nearly everything happened. The questions follow what inspectors say that they want on one page: order,
//! systems, zones and interval, rounds, largest gap by zone, who is there, open hazards, restoration, an
//! unbroken record (common practice; Los Angeles Municipal Code 57.324.18.1.1 for what a log must say).

mod eventful;
#[expect(dead_code, reason = "the other papers ask more of the outside programs")]
mod outside;
mod told;

use outside::page_texts;
use report::{Copy, Folded, Kind, Paper, Request};
use told::fold;
use words::Lang;

fn request(folded: &Folded, lang: Lang, paper: Paper) -> Request<'_> {
    Request { copy: Copy::Client, lang, paper, ..folded.whole() }
}

/// A question, and what must stand on page one for it: English, Spanish.
type Question = (&'static str, &'static [&'static str], &'static [&'static str]);

const EIGHT: [Question; 8] = [
    (
        "Which building is this, who ordered the watch, and what had to be done?",
        &[
            "Gannet Hotel",
            "3 Harbour Row, Gannet",
            "Order 26-118 received from authority",
            "seen at least every 15 min",
            "Gannet fire marshal, fire watch guideline 2025 (code)",
        ],
        &[
            "Gannet Hotel",
            "3 Harbour Row, Gannet",
            "26-118",
            "al menos una mirada cada 15 min",
            "Gannet fire marshal, fire watch guideline 2025",
        ],
    ),
    (
        "Which systems are out, since when, and when are they back?",
        &[
            "Fire alarm: out since 2 March 2026, 20:00, back since 3 March 2026, 06:40.",
            "Sprinklers: out since 2 March 2026, 20:55, expected back 3 March 2026, 12:00.",
        ],
        &[
            "de vuelta desde 3 de marzo de 2026, 06:40",
            "fuera de servicio desde 2 de marzo de 2026, 20:55, se espera de vuelta 3 de marzo de 2026, 12:00",
        ],
    ),
    (
        "Were the rounds walked: due, on time, late, missing, stopped?",
        &["Rounds due: ", "On time: ", "Late: ", "From 03:18 to 03:31 rounds stopped for the fire"],
        &["Rondas debidas: ", "A tiempo: ", "Tarde: ", "De 03:18 a 03:31 las rondas se pararon"],
    ),
    (
        // 00:52, then 01:28: looks are 12 min apart and two of them were left out.
        "How long was each zone unseen at most, against what was allowed, and how soon was it sealed?",
        &[
            "Not kept:",
            "Guest floor 2 36 min 15 min over 1 h 24 min",
            "Guest floor 1",
            "Guest floor 3",
            "Kitchen",
            "Laundry and linen stores 41 min 30 min kept *",
            "Yard and loading bay",
            "Roof",
            "Boiler room",
            "Stair A, all floors",
            "Stair B, all floors",
            "sealed within",
        ],
        &["No cumplida:", "Guest floor 2 36 min 15 min pasada 1 h 24 min", "Kitchen", "sellado en"],
    ),
    (
        "What was found, and what is still open?",
        &["Cord under the door, warm to the hand", "open", "of them open."],
        &["Cord under the door, warm to the hand", "abierta", "sin cerrar."],
    ),
    (
        "Was there a fire, when was I called, and who else was told?",
        &[
            "Fire, smoke or smell, Kitchen: seen 03:18, called 03:19, alarm given 03:20",
            "engine here 03:31",
            "Told: fire service 19:50 by telephone",
            "insurer 19:52 by e-mail",
            "supervisor 03:22 by telephone",
        ],
        &[
            "Fuego, humo u olor, Kitchen:",
            "03:19",
            "03:31",
            "Avisados: bomberos 19:50",
            "por teléfono",
        ],
    ),
    (
        "Who walked, who is there now, and whom do I ring?",
        &[
            "Ines, Omar",
            "The watch continues.",
            "Ask Sela Ndiaye (impairment coordinator), 555 0177.",
        ],
        &["Ines, Omar", "La vigilancia sigue.", "Pregunte a Sela Ndiaye", "555 0177"],
    ),
    (
        "Is this record whole and unaltered, how much of it was received when, and what does it not show?",
        &[
            "Lines unaltered (checked on issue).",
            "This does not show that anyone walked.",
            "received within 2 min",
            "The later ones came in",
            "2 of these lines come from paper",
            "1 of these lines was told by telephone",
            "Head ",
            "Local codes",
        ],
        &[
            "Líneas sin alterar (comprobado al emitir).",
            "Esto no demuestra que alguien haya recorrido el lugar.",
            "recibidas en 2 min",
            "Las de después llegaron",
            "2 de estas líneas vienen de papel",
            "Cabeza ",
        ],
    ),
];

#[test]
fn eight_questions_of_a_marshal_are_answered_by_page_one_of_a_full_night() {
    let folded = fold(&eventful::night());
    for (lang, paper) in [
        (Lang::En, Paper::A4),
        (Lang::En, Paper::Letter),
        (Lang::Es, Paper::A4),
        (Lang::Es, Paper::Letter),
    ] {
        let pdf = Kind::Night.to_pdf(&request(&folded, lang, paper), "full").expect("a page");
        let pages = page_texts(&pdf);
        let page = pages[0].replace('\u{a0}', " ");
        for (question, english, spanish) in EIGHT {
            let answers = if lang == Lang::En { english } else { spanish };
            for answer in answers {
                assert!(
                    page.contains(answer),
                    "{question}\n{answer:?} is not on page one ({lang:?}, {paper:?}):\n{page}"
                );
            }
        }
        // The head stands whole on page one, and its code reads as the same head.
        let head = folded.head.as_ref().expect("a head");
        assert!(page.contains(&head.root.to_string()), "{page}");
        let codes = outside::codes_of_page(&pdf, 1);
        assert_eq!(codes, [format!("{}\n{}\n{}", head.origin, head.size, head.root)]);
        // What page one leaves out is named with its page, and stands there.
        let more = if lang == Lang::En { "On page 2: " } else { "En la página 2: " };
        assert!(page.contains(more), "{page}");
        for row in report::compose(&request(&folded, lang, paper)).happened.rows {
            let words =
                row.what.split([';', ':']).next().unwrap_or_default().replace('\u{a0}', " ");
            assert!(
                pages[1].replace('\u{a0}', " ").contains(words.trim_end_matches('.')),
                "{words:?} is not on page two: {}",
                pages[1]
            );
        }
    }
}
