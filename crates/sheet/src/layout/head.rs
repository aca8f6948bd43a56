//! The upper part of every page: site, address, night, shift, what is out, the sheet code, and where
//! to call.

use super::{Drawing, Style};
use crate::code::SheetCode;
use crate::item::{Ink, Item};
use words::{Lang, card, sheet};

/// Where the page's own part begins.
pub(super) const BELOW: i32 = 520;
/// The side of the QR code with its quiet zone.
pub(super) const CODE_SIDE: i32 = 370;
/// Its upper edge.
const CODE_Y: i32 = 50;

/// Where the QR code stands: left and upper edge.
pub(crate) fn code_at(width: i32) -> (i32, i32) {
    (width - 180 - CODE_SIDE, CODE_Y)
}

impl Drawing<'_> {
    pub(super) fn head(&mut self, code: &SheetCode) {
        self.marks();
        let (left, _) = self.edges();
        let (code_x, code_y) = code_at(self.size.extent().0);
        let (x, wide) = (left + 20, code_x - left - 40);
        let lang = self.lang;
        let tonight = self.tonight;
        self.text((x, 68, wide, 82), Style::bold(210), &tonight.site);
        self.text((x, 150, wide, 42), Style::plain(110), &tonight.place);
        let title = match tonight.filled {
            Some(_) => sheet::title_filled(lang, &tonight.span),
            None => sheet::title(lang, &tonight.span),
        };
        self.text((x, 196, wide, 36), Style::plain(90), title);
        if !tonight.out.is_empty() {
            self.text((x, 234, wide, 36), Style::bold(90), sheet::out(lang, &tonight.out));
        }
        let shifts = tonight.shifts.join(" · ");
        if !shifts.is_empty() {
            self.text((x, 272, wide, 36), Style::plain(90), sheet::on_duty(lang, shifts));
        }
        if let Some(warning) = &tonight.warning {
            let style = Style { ink: Ink::Ember, ..Style::bold(90) };
            self.text((x, 310, wide, 34), style, warning);
        }
        self.names(x, wide);
        let (text, says) = (code.text(), code.says());
        let says = sheet::code_alternative(lang, says);
        self.items.push(Item::Code { x: code_x, y: code_y, side: CODE_SIDE, text, says });
        self.call();
    }

    fn names(&mut self, x: i32, wide: i32) {
        let third = (wide - 60) / 3;
        let words =
            [sheet::guard(self.lang), sheet::signature(self.lang), sheet::initials(self.lang)];
        for (place, word) in words.into_iter().enumerate() {
            self.blank((x + (third + 30) * place as i32, 352, third, 74), word);
        }
    }

    /// One line that says where to call, on every page.
    fn call(&mut self) {
        let (left, right) = self.edges();
        let number = self.tonight.card.as_ref().and_then(|card| card.emergency_number.clone());
        let call = match number {
            Some(number) => sheet::call(self.lang, number),
            None => sheet::call_blank(self.lang).to_owned(),
        };
        self.frame((left, 442, right - left, 54), 6, Ink::Ember);
        let style = Style { ink: Ink::Ember, ..Style::bold(105) };
        self.text(
            (left + 18, 449, right - left - 36, 42),
            style,
            format!("{call} {}", self.say_place()),
        );
    }

    /// The sentence to say, in English wherever the sheet is read: the fire service hears English.
    pub(super) fn say_place(&self) -> String {
        let Some(site) = &self.tonight.card else { return String::new() };
        let place = match &site.cross_street {
            Some(cross) => {
                card::place_corner(Lang::En, &site.address, cross, &site.name, &site.town)
            }
            None => card::place_plain(Lang::En, &site.address, &site.name, &site.town),
        };
        format!("“{}”", card::say_fire_at(Lang::En, place))
    }
}
