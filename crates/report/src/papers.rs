//! The papers beside the night report, one file each, and what they share.

pub(crate) mod certificate;
pub(crate) mod hours;
pub(crate) mod impairment;
pub(crate) mod incident;
pub(crate) mod permit;
pub(crate) mod restored;
pub(crate) mod route;
mod sources;
pub(crate) mod tags;

use crate::page::Page;
use crate::sheets::{Block, Field, Form};
use record::documents::Contact;
use record::{Party, System};
use rules::say::Say;
use words::papers;

impl Page<'_> {
    /// A paper with its heading; the blocks follow.
    fn form(&self, title: &str) -> Form {
        let lang = self.lang();
        let site = self.title();
        let watch = self.request.watch.id().to_string();
        Form {
            lang: lang.tag().to_owned(),
            paper: self.request.paper,
            title: title.to_owned(),
            subtitle: [site.clone(), self.address().unwrap_or_default(), watch.clone()]
                .into_iter()
                .filter(|part| !part.is_empty())
                .collect::<Vec<_>>()
                .join(" · "),
            warning: self.warning(),
            foot: papers::foot(lang, title, site, watch),
            page_words: [words::report::page(lang), words::report::page_of(lang)]
                .map(str::to_owned),
            ..Form::default()
        }
    }

    /// Sheets of cards, without a heading.
    fn card_form(&self, title: &str) -> Form {
        Form { bare: true, ..self.form(title) }
    }

    /// Street and town, as the card of the site has them.
    pub(crate) fn address(&self) -> Option<String> {
        let card = self.request.documents.card.as_ref()?;
        let parts: Vec<&str> = [card.address.as_str(), card.town.as_str()]
            .into_iter()
            .filter(|part| !part.is_empty())
            .collect();
        (!parts.is_empty()).then(|| parts.join(", "))
    }

    /// Day and time of day: `2 March 2026, 20:04`.
    fn stamp(&self, at_ms: i64) -> String {
        papers::on(self.lang(), self.local.date(self.lang(), at_ms), self.clock(at_ms))
    }

    fn contact(&self, party: Party) -> Option<&Contact> {
        self.request.documents.card.as_ref()?.contacts.iter().find(|c| c.party == party)
    }

    /// Name and number of a party on the site's card.
    fn contact_says(&self, party: Party) -> Option<String> {
        let contact = self.contact(party)?;
        Some(format!("{}, {}", contact.name, contact.number))
    }

    fn emergency_number(&self) -> Option<&str> {
        self.request.documents.card.as_ref()?.emergency_number.as_deref()
    }

    fn watch_since(&self) -> Option<i64> {
        self.state.opening.as_ref().map(|opening| opening.from_ms)
    }

    /// Systems that were out at an instant.
    fn out_at(&self, at_ms: i64) -> Vec<System> {
        let out = |impairment: &&watch::Impairment| {
            impairment.from_ms <= at_ms && impairment.until_ms.is_none_or(|until| until > at_ms)
        };
        self.state.impairments.iter().filter(out).map(|impairment| impairment.system).collect()
    }

    /// Site, address, watch and what is out: the fields that most papers begin with.
    fn site_fields(&self, columns: u32) -> Block {
        let lang = self.lang();
        let out = Some(self.systems_out_named());
        let since = self.watch_since().map(|from_ms| papers::since(lang, self.stamp(from_ms)));
        Block::Fields {
            columns,
            rows: vec![
                Field::of(papers::site(lang), self.title()),
                Field::maybe(papers::address(lang), self.address()),
                Field::maybe(papers::stretch(lang), since),
                Field::maybe(papers::systems(lang), out),
            ],
        }
    }

    /// A party as a row's first cell: the name on the card beside the code in words.
    fn party(&self, party: Party) -> String {
        let said = party.say(self.lang());
        match self.contact(party) {
            Some(contact) => format!("{said}: {}", contact.name),
            None => said.to_owned(),
        }
    }
}
