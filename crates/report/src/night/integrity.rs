//! Are the lines unaltered, what does that not show, when were they received, under which head.

use crate::page::Page;
use crate::request::Unaltered;
use fast_qr::convert::{Builder, Shape, svg::SvgBuilder};
use fast_qr::qr::QRBuilder;
use picture::watch_dial::SEALED_SOON_MS;
use watch::Via;
use words::report;

impl Page<'_> {
    pub(crate) fn unaltered(&self) -> String {
        let lang = self.lang();
        match self.request.unaltered {
            Unaltered::Checked => report::unaltered_checked(lang).to_owned(),
            Unaltered::Faults(n) => report::unaltered_faults(lang, n.min(i64::MAX as u64) as i64),
        }
    }

    pub(crate) fn integrity(&self) -> Vec<String> {
        let lang = self.lang();
        let mut said = vec![report::not_walking(lang).to_owned(), self.received()];
        said.extend(self.told_later());
        if let Some(head) = &self.request.head {
            said.push(report::head_line(lang, head.root, head.size));
        }
        said.push(format!(
            "{} {}",
            report::anyone_can_check(lang),
            words::terms_of_trade::local_codes_decide(lang)
        ));
        said
    }

    pub(crate) fn received(&self) -> String {
        let lang = self.lang();
        let (mut soon, mut late, mut not) = (0, Vec::new(), 0i64);
        for line in self.request.watch.lines() {
            match self.request.watch.sealing(line.id) {
                None => not += 1,
                Some(seal) if seal.rx_ms - line.clk.recorded_ms() <= SEALED_SOON_MS => soon += 1,
                Some(seal) => late.push(seal.rx_ms),
            }
        }
        let mut said = report::received(lang, late.len(), self.request.watch.len(), soon);
        if let (Some(first), Some(last)) = (late.iter().min(), late.iter().max()) {
            said += " ";
            said += &match self.moment_in_span(*first) == self.moment_in_span(*last) {
                true => report::received_late_at(lang, self.moment_in_span(*first)),
                false => report::received_late_between(
                    lang,
                    self.moment_in_span(*first),
                    self.moment_in_span(*last),
                ),
            };
        }
        if not > 0 {
            said += " ";
            said += &report::received_not(lang, not);
        }
        said
    }

    /// How many lines were not written by whoever states them.
    fn told_later(&self) -> Vec<String> {
        let lang = self.lang();
        let count = |via: Via| {
            let lines = self.request.watch.lines();
            lines.filter(|line| line.via == via).count() as i64
        };
        let (paper, telephone) = (count(Via::Paper), count(Via::PhonedIn));
        let paper = (paper > 0).then(|| report::from_paper(lang, paper));
        let telephone = (telephone > 0).then(|| report::from_telephone(lang, telephone));
        paper.into_iter().chain(telephone).collect()
    }

    pub(crate) fn head_says(&self) -> String {
        let head = self.request.head.as_ref();
        let head = head.map_or_else(String::new, |head| {
            format!("{} {} {}", head.origin, head.size, head.root)
        });
        report::head_alternative(self.lang(), head)
    }

    /// The head as a QR code: origin, size and root, so that whoever holds the page can compare.
    pub(crate) fn head_svg(&self) -> String {
        let text = match &self.request.head {
            Some(head) => format!("{}\n{}\n{}", head.origin, head.size, head.root),
            None => self.request.watch.id().to_string(),
        };
        match QRBuilder::new(text).build() {
            Ok(code) => SvgBuilder::default().shape(Shape::Square).margin(2).to_str(&code),
            // Only a text beyond 2,953 bytes cannot be drawn; an origin is far shorter.
            Err(_) => EMPTY.to_owned(),
        }
    }
}

const EMPTY: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1"/>"#;
