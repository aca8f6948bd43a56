//! Tags to cut out: a code for every stop of the record, as the phone reads it.
//!
//! The code says `RATTLEWATCH:SITE/STOP` in capitals, which a QR code holds in fewer modules; the phone
//! takes what stands after the last `/`, in small letters, as the stop's id. A tag is no secret: it shows
//! that somebody held a phone before it, and no more.

use crate::page::Page;
use crate::sheets::{Block, Cards, Form};
use fast_qr::convert::{Builder, Shape, svg::SvgBuilder};
use fast_qr::qr::QRBuilder;
use record::{StopId, ZoneId};
use words::paper_tags as says;

/// Two by four stand on A4 and on Letter.
const WIDE_MM: u32 = 92;
const HIGH_MM: u32 = 62;

pub(crate) fn compose(page: &Page<'_>) -> Form {
    let lang = page.lang();
    let stops = page.stops();
    if stops.is_empty() {
        let mut form = page.form(says::title(lang));
        form.blocks.push(Block::says(says::none(lang)));
        page.add_sources(&mut form);
        return form;
    }
    let mut form = page.card_form(says::title(lang));
    let mut cards = Vec::new();
    for (stop, zone) in &stops {
        let file = format!("tag-{stop}.svg");
        form.pictures.insert(file.clone(), code(&page.tag_text(stop)).into_bytes());
        cards.push(page.stop_tag(file, stop, zone));
    }
    form.blocks.push(Block::Cards(Cards { wide_mm: WIDE_MM, high_mm: HIGH_MM, columns: 2, cards }));
    form
}

impl Page<'_> {
    /// The stops of the plan in force, zone by zone, each with its zone.
    pub(super) fn stops(&self) -> Vec<(StopId, ZoneId)> {
        let set = self.state.plan.as_ref().map(|plan| &plan.set.stops);
        let mut stops: Vec<(StopId, ZoneId)> =
            set.into_iter().flatten().map(|(stop, zone)| (stop.clone(), zone.clone())).collect();
        stops.sort_by(|a, b| (&a.1, &a.0).cmp(&(&b.1, &b.0)));
        stops
    }

    fn tag_text(&self, stop: &StopId) -> String {
        let site = self.state.opening.as_ref().map_or("site", |opening| opening.site.as_str());
        format!("rattlewatch:{site}/{stop}").to_uppercase()
    }

    fn stop_tag(&self, file: String, stop: &StopId, zone: &ZoneId) -> Vec<Block> {
        let lang = self.lang();
        let name = self.names.stop(stop);
        let mut right = Vec::new();
        right.extend(self.warning().map(Block::soft));
        right.extend([
            Block::soft(says::what(lang)),
            Block::Large { says: name.to_owned(), size_pt: 17 },
            Block::says(self.names.zone(zone)),
            Block::soft(self.title()),
            Block::soft(says::scan(lang)),
            Block::soft(stop.to_string()),
        ]);
        let alt = says::code(lang, name);
        let left = vec![Block::Picture { file, alt, wide_mm: 40 }];
        vec![Block::Beside { left_mm: 40, left, right }]
    }
}

/// A text as a QR code with the quiet zone of four modules that ISO/IEC 18004 asks for.
fn code(text: &str) -> String {
    match QRBuilder::new(text).ecl(fast_qr::ECL::Q).build() {
        Ok(code) => SvgBuilder::default().shape(Shape::Square).margin(4).to_str(&code),
        // Ids have at most 64 signs each, far below the 1,663 bytes that such a code holds.
        Err(_) => r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1"/>"#.to_owned(),
    }
}
