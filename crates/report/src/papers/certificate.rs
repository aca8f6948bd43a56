//! The certificate of the record's custodian: a draft for counsel, naming digest, head and the steps by
//! which anybody checks the copy.
//!
//! The limbs of its statement follow Federal Rules of Evidence 803(6); the digest and its method are named
//! because 902(14) asks for a process of digital identification. It says of itself that it is a draft.

use crate::page::Page;
use crate::request::Unaltered;
use crate::sheets::{Block, Field, Form, Table};
use words::paper_certificate as says;

pub(crate) fn compose(page: &Page<'_>) -> Form {
    let lang = page.lang();
    let mut form = Form { dense: true, ..page.form(says::title(lang)) };
    form.blocks.push(Block::says(says::draft(lang)));
    form.blocks.push(Block::part(says::about(lang)));
    form.blocks.push(Block::Table(page.record_facts()));
    form.blocks.push(Block::part(says::statement(lang)));
    form.blocks.push(Block::Fields {
        columns: 2,
        rows: vec![Field::blank(says::custodian(lang)), Field::blank(says::employer(lang))],
    });
    let statements =
        [says::one(lang), says::two(lang), says::three(lang), says::four(lang), says::five(lang)];
    form.blocks.extend(statements.map(Block::says));
    form.blocks
        .push(Block::Fields { columns: 1, rows: vec![Field::blank(says::exceptions(lang))] });
    form.blocks.push(Block::part(says::steps(lang)));
    let steps = [
        says::step_digest(lang),
        says::step_unzip(lang),
        says::step_head(lang),
        says::step_program(lang),
    ];
    for (i, step) in steps.into_iter().enumerate() {
        form.blocks.push(Block::says(format!("{}. {step}", i + 1)));
    }
    form.blocks.push(Block::part(says::not_shown(lang)));
    form.blocks.push(Block::says(says::not_shown_says(lang)));
    form.blocks.push(Block::part(says::rules(lang)));
    form.blocks.push(Block::soft(says::rules_says(lang)));
    form.blocks.push(Block::says(says::declare(lang)));
    form.blocks.push(Block::Fields {
        columns: 2,
        rows: vec![Field::blank(says::signed_at(lang)), Field::blank(says::signed_on(lang))],
    });
    form.blocks.push(Block::Signatures {
        rows: vec![says::signature(lang).to_owned(), words::papers::name_printed(lang).to_owned()],
    });
    form.blocks.push(Block::soft(words::papers::by_hand(lang)));
    form
}

impl Page<'_> {
    /// What identifies the record, one fact a row.
    fn record_facts(&self) -> Table {
        let lang = self.lang();
        let head = self.request.head.as_ref();
        let first = self.request.watch.lines().map(|line| line.clk.recorded_ms()).min();
        let received = self
            .request
            .watch
            .lines()
            .filter_map(|line| Some(self.request.watch.sealing(line.id)?.rx_ms))
            .max();
        let checked = match self.request.unaltered {
            Unaltered::Checked => says::checked_held(lang).to_owned(),
            Unaltered::Faults(n) => says::checked_faults(lang, n.min(i64::MAX as u64) as i64),
        };
        let rows = [
            (
                says::bundle(lang),
                match self.request.bundle {
                    Some(digest) => digest.to_string(),
                    None => says::bundle_none(lang).to_owned(),
                },
            ),
            (says::origin(lang), head.map(|head| head.origin.clone()).unwrap_or_default()),
            (says::size(lang), head.map(|head| head.size.to_string()).unwrap_or_default()),
            (says::root(lang), head.map(|head| head.root.to_string()).unwrap_or_default()),
            (says::lines(lang), self.request.watch.len().to_string()),
            (says::devices(lang), self.state.devices.len().to_string()),
            (says::first(lang), first.map(|ms| self.local.machine(ms)).unwrap_or_default()),
            (says::last(lang), received.map(|ms| self.local.machine(ms)).unwrap_or_default()),
            (says::checked(lang), checked),
        ];
        Table {
            head: vec![words::papers::what(lang).to_owned(), says::about(lang).to_owned()],
            wide: vec![1],
            widest: None,
            mono: vec![1],
            rows: rows.into_iter().map(|(name, value)| vec![name.to_owned(), value]).collect(),
            blank: 0,
        }
    }
}
