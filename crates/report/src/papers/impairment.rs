//! The impairment notice, one for each system of the record that is or was out, and the tags that
//! hang at it.
//!
//! Its fields are the union of published blank notices and rules (system, extent, kind, reason, times,
//! people, notifications, precautions, tags); the eight steps and the places of the tags are those of the
//! International Fire Code 2018, 901.7.4 and 901.7.3.

use crate::page::Page;
use crate::sheets::{Block, Cards, Check, Field, Form, Mark, Table};
use record::{ImpairmentStep, Party, System};
use rules::say::{Say, system as system_noun};
use watch::Impairment;
use words::{duration_words, paper_impairment as says, papers};

/// Two tags stand above each other on A4 and on Letter.
const TAG_WIDE_MM: u32 = 180;
const TAG_HIGH_MM: u32 = 122;
/// Half of what the margins leave, on A4 and on Letter.
const HALF_MM: u32 = 87;

pub(crate) fn compose(page: &Page<'_>) -> Form {
    let lang = page.lang();
    let mut form = Form { dense: true, ..page.form(says::title(lang)) };
    page.each_system(&mut form, says::none(lang), Page::notice);
    page.add_sources(&mut form);
    let mut cards = Vec::new();
    let out: Vec<&Impairment> = page.systems_out().collect();
    for impairment in out.iter().map(|i| Some(*i)).chain(out.is_empty().then_some(None)) {
        cards.extend([page.tag(impairment), page.tag(impairment)]);
    }
    form.blocks.extend([
        Block::Sheet,
        Block::soft(says::tag_sheet(lang)),
        Block::Cards(Cards { wide_mm: TAG_WIDE_MM, high_mm: TAG_HIGH_MM, columns: 1, cards }),
    ]);
    form
}

impl<'p> Page<'p> {
    /// The systems of the record that are or were out.
    fn systems_out(&self) -> impl Iterator<Item = &Impairment> {
        self.state.impairments.iter().filter(|impairment| impairment.system != System::None)
    }

    /// A sheet for each of them; a blank one, which says so, if there is none.
    pub(super) fn each_system(
        &self,
        form: &mut Form,
        none: &str,
        sheet: impl Fn(&Page<'p>, &mut Form, Option<&Impairment>),
    ) {
        let out: Vec<&Impairment> = self.systems_out().collect();
        if out.is_empty() {
            form.blocks.push(Block::soft(none));
            sheet(self, form, None);
        }
        for (i, impairment) in out.into_iter().enumerate() {
            if i > 0 {
                form.blocks.push(Block::Sheet);
            }
            sheet(self, form, Some(impairment));
        }
    }
}

impl Page<'_> {
    fn notice(&self, form: &mut Form, impairment: Option<&Impairment>) {
        let lang = self.lang();
        if let Some(impairment) = impairment {
            let title = says::title_part(lang, system_noun(lang, impairment.system));
            form.blocks.push(Block::Large { says: title, size_pt: 14 });
        }
        form.blocks.extend([self.site_fields(4), self.notice_fields(impairment)]);
        let rows = vec![Field::blank(says::extent(lang))];
        form.blocks.push(Block::Fields { columns: 1, rows });
        if impairment.is_none() {
            let systems = System::ALL.into_iter().filter(|system| *system != System::None);
            let names: Vec<&str> = systems.map(|system| system_noun(lang, system)).collect();
            form.blocks.push(blank_checks(3, &names));
        }
        form.blocks.push(Block::part(says::steps(lang)));
        form.blocks.push(Block::Checks {
            columns: 2,
            rows: ImpairmentStep::ALL
                .into_iter()
                .map(|step| {
                    match impairment.is_some_and(|i| self.state.steps_of(i).contains(&step)) {
                        true => Check {
                            mark: Mark::Yes,
                            says: step.say(lang).to_owned(),
                            note: papers::done(lang).to_owned(),
                        },
                        false => Check::blank(step.say(lang)),
                    }
                })
                .collect(),
        });
        form.blocks.push(Block::soft(says::steps_source(lang)));
        form.blocks.push(Block::part(says::told(lang)));
        form.blocks.push(Block::Table(self.told_of(impairment, false)));
        form.blocks.push(Block::soft(says::told_note(lang)));
        let precautions = blank_checks(
            1,
            &[
                says::precaution_hot_work(lang),
                says::precaution_smoking(lang),
                says::precaution_processes(lang),
                says::precaution_gear(lang),
                says::precaution_emergency(lang),
                says::precaution_nights(lang),
            ],
        );
        let tags = blank_checks(
            1,
            &[
                says::tag_connection(lang),
                says::tag_valve(lang),
                says::tag_panel(lang),
                says::tag_annunciator(lang),
                says::tag_command(lang),
                says::tag_hood(lang),
                says::tag_other(lang),
            ],
        );
        form.blocks.push(Block::Beside {
            left_mm: HALF_MM,
            left: vec![Block::part(says::precautions(lang)), precautions],
            right: vec![Block::part(says::tags(lang)), tags, Block::soft(says::tags_source(lang))],
        });
        let rows = [says::sign_coordinator(lang), says::sign_owner(lang)].map(str::to_owned);
        form.blocks.push(Block::Signatures { rows: rows.to_vec() });
    }

    fn notice_fields(&self, impairment: Option<&Impairment>) -> Block {
        let lang = self.lang();
        let system = impairment.map(|i| system_noun(lang, i.system).to_owned());
        let kind = impairment.and_then(|i| i.planned).map(|planned| match planned {
            true => says::planned(lang).to_owned(),
            false => says::found(lang).to_owned(),
        });
        let expected = impairment.and_then(|i| i.expected_ms);
        let lasting = impairment.zip(expected).map(|(impairment, expected_ms)| {
            duration_words((expected_ms - impairment.from_ms).max(0) / 1000)
        });
        let back = impairment.and_then(|i| i.until_ms).map(|at_ms| self.stamp(at_ms));
        let watch =
            self.watch_since().map(|from_ms| says::fire_watch_since(lang, self.stamp(from_ms)));
        let permits = self.state.hot_work.iter().filter_map(|work| work.permit.as_ref());
        let permits: Vec<&str> = permits.filter_map(|permit| permit.number.as_deref()).collect();
        Block::Fields {
            columns: 3,
            rows: vec![
                Field::maybe(says::system(lang), system),
                Field::blank(says::operation(lang)),
                Field::maybe(says::kind(lang), kind),
                Field::blank(says::reason(lang)),
                Field::maybe(says::off(lang), impairment.map(|i| self.stamp(i.from_ms))),
                Field::maybe(says::expected(lang), expected.map(|at_ms| self.stamp(at_ms))),
                Field::maybe(says::lasting(lang), lasting),
                Field::maybe(says::back(lang), back),
                Field::maybe(says::coordinator(lang), self.contact_says(Party::Coordinator)),
                Field::maybe(says::technician(lang), self.contact_says(Party::Engineer)),
                Field::maybe(says::representative(lang), self.contact_says(Party::Owner)),
                Field::blank(says::applicant(lang)),
                Field::blank(says::approved(lang)),
                Field::maybe(says::fire_watch(lang), watch),
                Field::maybe(says::permit(lang), Some(permits.join(", "))),
            ],
        }
    }

    /// Who was told of an outage or of its end: those on the card first, with a blank time if the
    /// record does not say that they were told.
    pub(super) fn told_of(&self, impairment: Option<&Impairment>, restored: bool) -> Table {
        let lang = self.lang();
        let told = self.state.notifications.iter().filter(|told| {
            let about = impairment.is_none_or(|i| told.system.is_none_or(|s| s == i.system));
            told.restored == restored && impairment.is_some() && about
        });
        let mut rows: Vec<Vec<String>> = Vec::new();
        let mut parties = Vec::new();
        for told in told {
            let number = self.contact(told.party).map(|contact| contact.number.clone());
            parties.push(told.party);
            rows.push(vec![
                self.party(told.party),
                number.unwrap_or_default(),
                self.stamp(told.written.when.at_ms),
                told.means.say(lang).to_owned(),
                self.names.person(&told.written.who).to_owned(),
            ]);
        }
        for party in self.to_be_told(impairment, restored) {
            if !parties.contains(&party) {
                parties.push(party);
                let number = self.contact(party).map(|contact| contact.number.clone());
                let mut row = vec![self.party(party), number.unwrap_or_default()];
                row.resize(5, String::new());
                rows.push(row);
            }
        }
        Table {
            head: [
                papers::who(lang),
                says::number(lang),
                papers::time(lang),
                papers::how(lang),
                papers::told_by(lang),
            ]
            .map(str::to_owned)
            .to_vec(),
            wide: vec![0, 1, 2, 3, 4],
            widest: Some(0),
            mono: Vec::new(),
            rows,
            blank: 1,
        }
    }

    /// Parties that a notice names even if nobody told them yet: the fire service, then the card's
    /// contacts; at the end, whoever was told of the start.
    fn to_be_told(&self, impairment: Option<&Impairment>, restored: bool) -> Vec<Party> {
        let mut parties = vec![Party::FireService];
        if restored && impairment.is_some() {
            let start = self.state.notifications.iter().filter(|told| !told.restored);
            parties.extend(start.map(|told| told.party));
        } else if let Some(card) = &self.request.documents.card {
            parties.extend(card.contacts.iter().map(|contact| contact.party));
        }
        for party in [Party::Insurer, Party::Monitoring, Party::Owner, Party::Authority] {
            parties.push(party);
        }
        parties
    }

    fn tag(&self, impairment: Option<&Impairment>) -> Vec<Block> {
        let lang = self.lang();
        let mut blocks = Vec::new();
        if let Some(warning) = self.warning() {
            blocks.push(Block::says(warning));
        }
        blocks.push(Block::Large { says: says::tag_title(lang).to_owned(), size_pt: 44 });
        let system = match impairment {
            Some(impairment) => {
                Block::Large { says: system_noun(lang, impairment.system).to_owned(), size_pt: 40 }
            }
            None => Block::Fields { columns: 1, rows: vec![Field::blank(says::system(lang))] },
        };
        blocks.push(system);
        blocks.push(Block::Large { says: says::tag_watch(lang).to_owned(), size_pt: 22 });
        let coordinator = self.contact_says(Party::Coordinator);
        blocks.push(Block::Fields {
            columns: 2,
            rows: vec![
                Field::of(papers::site(lang), self.title()),
                Field::maybe(says::tag_since(lang), impairment.map(|i| self.stamp(i.from_ms))),
                Field::maybe(says::tag_ring(lang), coordinator),
                Field::blank(papers::signature_date(lang)),
            ],
        });
        let fire = match self.emergency_number() {
            Some(number) => says::tag_fire(lang, number),
            None => says::tag_fire_blank(lang).to_owned(),
        };
        blocks.push(Block::Large { says: fire, size_pt: 24 });
        blocks.push(Block::says(says::tag_leave(lang)));
        blocks
    }
}

/// Boxes that no line of the record can tick.
pub(super) fn blank_checks(columns: usize, says: &[&str]) -> Block {
    Block::Checks { columns, rows: says.iter().map(|says| Check::blank(says)).collect() }
}
