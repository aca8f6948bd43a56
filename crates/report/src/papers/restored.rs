//! The restoration notice: one for each system of the record that is or was out. The five steps are
//! those of the International Fire Code 2018, 901.7.6.

use crate::page::Page;
use crate::sheets::{Block, Check, Field, Form, Mark};
use record::RestorationStep;
use rules::say::{Say, system as system_noun};
use watch::Impairment;
use words::{duration_words, paper_impairment, paper_restored as says, papers};

pub(crate) fn compose(page: &Page<'_>) -> Form {
    let lang = page.lang();
    let mut form = page.form(says::title(lang));
    page.each_system(&mut form, says::none(lang), Page::back);
    page.add_sources(&mut form);
    form
}

impl Page<'_> {
    fn back(&self, form: &mut Form, impairment: Option<&Impairment>) {
        let lang = self.lang();
        if let Some(impairment) = impairment {
            let system = system_noun(lang, impairment.system);
            let title = match impairment.until_ms {
                Some(_) => says::title_part(lang, system),
                None => says::title_not_yet(lang, system),
            };
            form.blocks.push(Block::Large { says: title, size_pt: 14 });
            if impairment.until_ms.is_none() {
                form.blocks.push(Block::says(says::not_yet(lang)));
            }
        }
        let until = impairment.and_then(|i| i.until_ms);
        let lasted = impairment
            .zip(until)
            .map(|(i, until_ms)| duration_words((until_ms - i.from_ms).max(0) / 1000));
        let watch = match (self.state.released(), impairment) {
            (Some(release), _) => {
                Some(says::watch_released(lang, release.by.say(lang), self.stamp(release.at_ms)))
            }
            (None, Some(_)) => Some(says::watch_goes_on(lang).to_owned()),
            (None, None) => None,
        };
        form.blocks.push(self.site_fields(2));
        form.blocks.push(Block::Fields {
            columns: 2,
            rows: vec![
                Field::maybe(
                    paper_impairment::system(lang),
                    impairment.map(|i| system_noun(lang, i.system).to_owned()),
                ),
                Field::maybe(says::was_out(lang), impairment.map(|i| self.stamp(i.from_ms))),
                Field::maybe(says::back(lang), until.map(|at_ms| self.stamp(at_ms))),
                Field::maybe(says::lasted(lang), lasted),
                Field::maybe(says::watch_end(lang), watch),
                Field::blank(says::tested_by(lang)),
            ],
        });
        form.blocks
            .push(Block::Fields { columns: 1, rows: vec![Field::blank(says::test_result(lang))] });
        form.blocks.push(Block::part(says::steps(lang)));
        let checks = RestorationStep::ALL.into_iter().map(|step| {
            match impairment.is_some_and(|i| i.restoration.contains(&step)) {
                true => Check {
                    mark: Mark::Yes,
                    says: step.say(lang).to_owned(),
                    note: papers::done(lang).to_owned(),
                },
                false => Check::blank(step.say(lang)),
            }
        });
        form.blocks.push(Block::Checks { columns: 2, rows: checks.collect() });
        form.blocks.push(Block::soft(says::steps_source(lang)));
        form.blocks.push(Block::part(says::told(lang)));
        form.blocks.push(Block::Table(self.told_of(impairment, true)));
        form.blocks.push(Block::soft(says::told_note(lang)));
        let rows = [says::sign_technician(lang), says::sign_coordinator(lang)].map(str::to_owned);
        form.blocks.push(Block::Signatures { rows: rows.to_vec() });
    }
}
