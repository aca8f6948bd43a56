//! The page for writing: the emergency card with the address, what was found, who was told, who
//! takes over.

use super::head::BELOW;
use super::{Drawing, Style};
use crate::filled::{Happened, Told};
use crate::item::Ink;
use crate::page_size::PageSize;
use crate::tonight::Tonight;
use words::{Lang, card, sheet};

const CARD_HEIGHT: i32 = 420;
const FOUND_HEIGHT: i32 = 90;
const TOLD_HEIGHT: i32 = 80;

/// Rows for what was found and for who was told on one page.
fn room(size: PageSize) -> (usize, usize) {
    match size {
        PageSize::A4 => (9, 8),
        PageSize::Letter => (8, 6),
    }
}

/// How many pages for writing: one, or as many as the record fills.
pub(super) fn count(tonight: &Tonight, size: PageSize) -> usize {
    let (found, told) = room(size);
    let filled = tonight.filled.as_ref();
    let pages = |of: fn(&crate::Filled) -> usize, fit: usize| filled.map_or(1, of).div_ceil(fit);
    pages(|filled| filled.found.len(), found).max(pages(|filled| filled.told.len(), told)).max(1)
}

impl Drawing<'_> {
    /// The writing page number `place`, from 0.
    pub(super) fn writing(&mut self, place: usize) {
        self.card();
        let (found_fit, told_fit) = room(self.size);
        let filled = self.tonight.filled.clone().unwrap_or_default();
        let found: Vec<Happened> = page_of(&filled.found, place, found_fit);
        let told: Vec<Told> = page_of(&filled.told, place, told_fit);
        let y = self.found(BELOW + CARD_HEIGHT + 30, &found, found_fit);
        let y = self.told(y + 26, &told, told_fit);
        self.handover(y + 34);
    }

    /// Where to call, what to say, and when it was done.
    fn card(&mut self) {
        let (left, right) = self.edges();
        let (x, y, wide) = (left + 24, BELOW + 18, right - left);
        self.frame((left, BELOW, wide, CARD_HEIGHT), 10, Ink::Ember);
        let lang = self.lang;
        let site = self.tonight.card.clone();
        let number = site.as_ref().and_then(|site| site.emergency_number.clone());
        let ember = Style { ink: Ink::Ember, ..Style::bold(400) };
        match &number {
            Some(number) => self.text((x, y, 520, 150), ember, number),
            None => self.blank((x, y, 520, 140), sheet::number_blank(lang)),
        }
        let beside = (x + 560, y, wide - 620, 50);
        self.text(beside, Style::bold(130), card::say_this(lang));
        let say = [self.say_place(), card::say_watch(Lang::En).to_owned()].join(" ");
        self.text((x + 560, y + 52, wide - 620, 100), Style::plain(130), say.trim());
        let callback = site.as_ref().and_then(|site| site.callback.clone());
        let back = callback.map_or(sheet::callback_blank(lang).to_owned(), |number| {
            card::say_number(Lang::En, number)
        });
        self.text((x, y + 160, wide - 60, 44), Style::plain(110), back);
        let orders = [
            card::order_shout(lang).to_owned(),
            card::order_people(lang).to_owned(),
            match site.as_ref().and_then(|site| site.meet.clone()) {
                Some(place) => card::order_meet(lang, place),
                None => card::order_meet_outside(lang).to_owned(),
            },
            card::more_extinguish(lang).to_owned(),
            card::more_gas(lang).to_owned(),
        ];
        self.text((x, y + 206, wide - 60, 92), Style::plain(95), orders.join(" "));
        let stamps = [
            card::stamp_seen(lang),
            card::stamp_called(lang),
            card::stamp_alarmed(lang),
            card::stamp_engine(lang),
            card::stamp_out(lang),
        ];
        let each = (wide - 48) / stamps.len() as i32;
        for (place, stamp) in stamps.into_iter().enumerate() {
            self.blank((x + each * place as i32, y + 308, each - 24, 78), stamp);
        }
    }

    /// Columns of a table by hand: title, heads and widths in shares of 100, rows.
    fn table(
        &mut self,
        y: i32,
        title: &str,
        heads: &[(&str, i32)],
        height: i32,
        rows: &[Vec<String>],
    ) -> i32 {
        let (left, right) = self.edges();
        let wide = right - left;
        self.text((left, y, wide, 42), Style::bold(110), title);
        let top = y + 48;
        let mut x = left;
        let places: Vec<(i32, i32)> = heads
            .iter()
            .map(|(_, share)| {
                let place = (x, wide * share / 100);
                x += place.1;
                place
            })
            .collect();
        for ((word, _), (x, w)) in heads.iter().zip(&places) {
            self.text((x + 6, top, w - 12, 34), Style::soft(75), *word);
        }
        let body = top + 38;
        for (row, cells) in rows.iter().enumerate() {
            let y = body + height * row as i32;
            self.rule(y, if row == 0 { 6 } else { 2 }, if row == 0 { Ink::Ink } else { Ink::Line });
            for (text, (x, w)) in cells.iter().zip(&places) {
                self.text((x + 6, y + 8, w - 12, height - 12), Style::filled(80), text);
            }
        }
        let bottom = body + height * rows.len() as i32;
        self.rule(bottom, 4, Ink::Ink);
        bottom
    }

    fn found(&mut self, y: i32, found: &[Happened], fit: usize) -> i32 {
        let lang = self.lang;
        let heads = [
            (sheet::time(lang), 9),
            (sheet::code(lang), 7),
            (sheet::where_found(lang), 17),
            (sheet::what_found(lang), 34),
            (sheet::what_done(lang), 22),
            (sheet::initials(lang), 11),
        ];
        let cells = |found: &Happened| {
            let Happened { time, code, place, what, done, who } = found.clone();
            vec![time, code, place, what, done, who]
        };
        let rows: Vec<Vec<String>> =
            (0..fit).map(|row| found.get(row).map(cells).unwrap_or_default()).collect();
        self.table(y, sheet::found(lang), &heads, FOUND_HEIGHT, &rows)
    }

    fn told(&mut self, y: i32, told: &[Told], fit: usize) -> i32 {
        let lang = self.lang;
        let heads = [
            (sheet::time(lang), 9),
            (sheet::told_whom(lang), 33),
            (sheet::told_how(lang), 18),
            (sheet::told_what(lang), 40),
        ];
        let cells = |told: &Told| {
            let Told { time, whom, how, what } = told.clone();
            vec![time, whom, how, what]
        };
        let mut rows: Vec<Vec<String>> = told.iter().map(cells).collect();
        // A number that is known is printed where it will be looked for.
        if self.tonight.filled.is_none()
            && let Some(site) = &self.tonight.card
        {
            let known = site.contacts.iter().map(|contact| {
                vec![String::new(), format!("{}, {}", contact.name, contact.number)]
            });
            rows.extend(known.take(fit / 2));
        }
        rows.resize(fit, Vec::new());
        self.table(y, sheet::told(lang), &heads, TOLD_HEIGHT, &rows)
    }

    fn handover(&mut self, y: i32) {
        let (left, right) = self.edges();
        let lang = self.lang;
        let words = [
            sheet::relieved_by(lang),
            sheet::relieved_at(lang),
            sheet::signature(lang),
            sheet::sheets_handed_over(lang),
        ];
        let each = (right - left) / words.len() as i32;
        for (place, word) in words.into_iter().enumerate() {
            self.blank((left + each * place as i32, y, each - 24, 84), word);
        }
    }
}

fn page_of<T: Clone>(all: &[T], place: usize, fit: usize) -> Vec<T> {
    all.chunks(fit).nth(place).map(<[T]>::to_vec).unwrap_or_default()
}
