//! The hot work permit: one for each piece of work in the record, as one strip in time order.
//!
//! Before, during, the watch after the last spark, the looks after that, the end. The checks are the
//! union of published blank permits (common practice).

use super::impairment::blank_checks;
use crate::night::fonts::{FAMILY, MONO};
use crate::page::Page;
use crate::sheets::{Block, Check, Field, Form, Mark, Table};
use picture::{DialSpan, Phase, PhaseKind, dial, paper_style, strip, watch_dial};
use record::{PermitCheck, System};
use rules::say::Say;
use watch::HotWork;
use words::{duration_words, paper_permit as says, papers};

pub(crate) fn compose(page: &Page<'_>) -> Form {
    let lang = page.lang();
    let mut form = Form { dense: true, ..page.form(says::title(lang)) };
    if page.state.hot_work.is_empty() {
        form.blocks.push(Block::soft(says::none(lang)));
        page.permit(&mut form, None, 0);
    }
    for (i, work) in page.state.hot_work.iter().enumerate() {
        if i > 0 {
            form.blocks.push(Block::Sheet);
        }
        page.permit(&mut form, Some(work), i);
    }
    page.add_sources(&mut form);
    form
}

impl Page<'_> {
    fn permit(&self, form: &mut Form, work: Option<&HotWork>, number: usize) {
        let lang = self.lang();
        let permit = work.and_then(|work| work.permit.as_ref());
        if let Some(code) = permit.and_then(|permit| permit.number.as_deref()) {
            form.blocks.push(Block::Large { says: says::number(lang, code), size_pt: 14 });
        } else {
            let rows = vec![Field::blank(says::permit_number(lang))];
            form.blocks.push(Block::Fields { columns: 2, rows });
        }
        form.blocks.push(self.site_fields(2));
        if let Some(work) = work {
            self.strip_of(form, work, number);
        }
        self.before(form, work);
        self.during(form, work);
        self.tail(form, work);
        self.looks(form, work);
        self.end(form, work);
        if let Some(work) = work {
            self.dial_of(form, work, number);
        }
        form.blocks.push(Block::soft(says::keep(lang)));
    }

    fn before(&self, form: &mut Form, work: Option<&HotWork>) {
        let lang = self.lang();
        let permit = work.and_then(|work| work.permit.as_ref());
        let place = work
            .and_then(|work| self.reader().place(work.place.as_ref(), None, work.zone.as_ref()));
        let valid = permit.and_then(|permit| permit.until_ms).map(|at_ms| self.stamp(at_ms));
        let watcher = permit.map(|permit| self.names.person(&permit.written.who).to_owned());
        form.blocks.push(Block::part(says::before(lang)));
        form.blocks.push(Block::Fields {
            columns: 2,
            rows: vec![
                Field::maybe(says::place(lang), place),
                Field::maybe(says::valid(lang), valid),
                Field::blank(says::operator(lang)),
                Field::blank(says::job(lang)),
                Field::blank(says::authoriser(lang)),
                Field::maybe(says::watcher(lang), watcher),
                Field::blank(says::told(lang)),
                Field::blank(says::gas(lang)),
            ],
        });
        let began_ms = work.map(|work| work.began.when.at_ms);
        if began_ms.is_some_and(|at_ms| self.out_at(at_ms).contains(&System::Sprinkler)) {
            form.blocks.push(Block::says(says::conflict(lang)));
            let rows = vec![Field::blank(says::approval(lang))];
            form.blocks.push(Block::Fields { columns: 1, rows });
        }
        let checks = PermitCheck::ALL.into_iter().map(|check| {
            let marked = permit.and_then(|permit| permit.checks.get(&check));
            let (mark, note) = match marked {
                Some(true) => (Mark::Yes, papers::in_order(lang)),
                Some(false) => (Mark::No, papers::not_in_order(lang)),
                None => (Mark::Blank, ""),
            };
            Check { mark, says: check.say(lang).to_owned(), note: note.to_owned() }
        });
        form.blocks.push(Block::Checks { columns: 2, rows: checks.collect() });
        form.blocks.push(Block::soft(says::before_note(lang)));
    }

    fn during(&self, form: &mut Form, work: Option<&HotWork>) {
        let lang = self.lang();
        let began = work.map(|work| self.stamp(work.began.when.at_ms));
        let stopped = work.and_then(|work| work.stopped.as_ref());
        form.blocks.push(Block::part(says::during(lang)));
        let mut rows = vec![Field::maybe(says::began(lang), began)];
        rows.extend(stopped.map(|stop| {
            let who = self.names.person(&stop.who);
            Field::of(says::stopped(lang), format!("{}, {who}", self.stamp(stop.when.at_ms)))
        }));
        rows.extend(work.and_then(|work| self.seen_during(work)));
        form.blocks.push(Block::Fields { columns: 2, rows });
    }

    /// Looks at the work's zone while it went on, and what was observed there.
    fn seen_during(&self, work: &HotWork) -> Option<Field> {
        let zone = self.state.zone(work.zone.as_ref()?)?;
        let from_ms = work.began.when.at_ms;
        let until_ms = work.last_spark.as_ref().map_or(i64::MAX, |spark| spark.when.at_ms);
        let looks = zone.looks.iter().map(|look| look.written.when.at_ms);
        let times: Vec<String> = looks
            .filter(|at_ms| (from_ms..=until_ms).contains(at_ms))
            .map(|at_ms| self.clock(at_ms))
            .collect();
        Some(Field::maybe(says::observed_during(self.lang()), Some(times.join(", "))))
    }

    fn tail(&self, form: &mut Form, work: Option<&HotWork>) {
        let lang = self.lang();
        let spark = work.and_then(|work| work.last_spark.as_ref());
        let until = work.and_then(|work| work.watch_until_ms);
        form.blocks.push(Block::part(says::tail(lang)));
        form.blocks.push(Block::Fields {
            columns: 2,
            rows: vec![
                Field::maybe(says::last_spark(lang), spark.map(|s| self.stamp(s.when.at_ms))),
                Field::maybe(says::watch_until(lang), until.map(|at_ms| self.stamp(at_ms))),
            ],
        });
        let named = work.and_then(|work| work.permit.as_ref()?.watch_s);
        if work.is_some() && named.is_none() {
            form.blocks.push(Block::soft(says::tail_not_known(lang)));
        }
    }

    fn looks(&self, form: &mut Form, work: Option<&HotWork>) {
        let lang = self.lang();
        form.blocks.push(Block::part(says::looks(lang)));
        let until = work.and_then(|work| work.looks_until_ms).map(|at_ms| self.stamp(at_ms));
        let every = work.and_then(|work| work.permit.as_ref()?.look_every_s);
        let every = every.map(|s| says::look_every(lang, duration_words(i64::from(s))));
        let mut before_ms = work.and_then(|work| Some(work.last_spark.as_ref()?.when.at_ms));
        let mut rows = Vec::new();
        for look in work.into_iter().flat_map(|work| &work.looked_back) {
            let at_ms = look.written.when.at_ms;
            let between = before_ms.map(|before| duration_words((at_ms - before).max(0) / 1000));
            before_ms = Some(at_ms);
            rows.push(vec![
                self.stamp(at_ms),
                between.unwrap_or_default(),
                match look.clear {
                    true => says::look_clear(lang).to_owned(),
                    false => says::look_found(lang).to_owned(),
                },
                self.names.person(&look.written.who).to_owned(),
            ]);
        }
        let said: Vec<String> =
            [until.map(|until| format!("{}: {until}", says::looks_until(lang))), every]
                .into_iter()
                .flatten()
                .collect();
        if !said.is_empty() {
            form.blocks.push(Block::says(said.join(". ")));
        }
        form.blocks.push(Block::Table(Table {
            head: [
                says::head_look(lang),
                says::head_between(lang),
                says::head_found(lang),
                papers::who(lang),
            ]
            .map(str::to_owned)
            .to_vec(),
            wide: vec![0, 1, 2, 3],
            widest: None,
            mono: Vec::new(),
            blank: if rows.is_empty() { 4 } else { 1 },
            rows,
        }));
    }

    fn end(&self, form: &mut Form, work: Option<&HotWork>) {
        let lang = self.lang();
        let closed = work.and_then(|work| work.closed.as_ref());
        form.blocks.push(Block::part(says::end(lang)));
        if work.is_some() && closed.is_none() {
            form.blocks.push(Block::says(says::still_open(lang)));
        }
        let by = closed.map(|closed| {
            format!("{}, {}", self.stamp(closed.when.at_ms), self.names.person(&closed.who))
        });
        form.blocks
            .push(Block::Fields { columns: 2, rows: vec![Field::maybe(says::closed(lang), by)] });
        form.blocks.push(match work.is_some_and(|work| work.surveyed) {
            true => Block::Checks {
                columns: 2,
                rows: vec![Check {
                    mark: Mark::Yes,
                    says: says::closed_surveyed(lang).to_owned(),
                    note: papers::done(lang).to_owned(),
                }],
            },
            false => blank_checks(2, &[says::closed_surveyed(lang)]),
        });
        let rows = [
            says::sign_operator(lang),
            says::sign_authoriser(lang),
            says::sign_watcher(lang),
            says::sign_final(lang),
        ];
        form.blocks.push(Block::Signatures { rows: rows.map(str::to_owned).to_vec() });
    }

    fn strip_of(&self, form: &mut Form, work: &HotWork, number: usize) {
        let lang = self.lang();
        let permit_ms = work.permit.as_ref().map(|permit| permit.written.when.at_ms);
        let spark_ms = work.last_spark.as_ref().map(|spark| spark.when.at_ms);
        let closed_ms = work.closed.as_ref().map(|closed| closed.when.at_ms);
        let began_ms = work.began.when.at_ms;
        let work_end_ms = spark_ms.or(closed_ms).unwrap_or(self.about_ms);
        let tail_end_ms = work.watch_until_ms.or(spark_ms);
        let ends = [
            (PhaseKind::Before, says::strip_before(lang), permit_ms, Some(began_ms)),
            (PhaseKind::Work, says::strip_work(lang), Some(began_ms), Some(work_end_ms)),
            (PhaseKind::Tail, says::strip_tail(lang), spark_ms, work.watch_until_ms),
            (
                PhaseKind::Looks,
                says::strip_looks(lang),
                tail_end_ms,
                work.looks_until_ms.max(closed_ms),
            ),
        ];
        let mut phases = Vec::new();
        for (kind, name, from_ms, until_ms) in ends {
            let (Some(from_ms), Some(until_ms)) = (from_ms, until_ms) else { continue };
            if until_ms > from_ms {
                let (from, until) = (self.clock(from_ms), self.clock(until_ms));
                phases.push(Phase { kind, name: name.to_owned(), from_ms, until_ms, from, until });
            }
        }
        if phases.is_empty() {
            return;
        }
        let mut looks: Vec<i64> =
            work.looked_back.iter().map(|look| look.written.when.at_ms).collect();
        let zone = work.zone.as_ref().and_then(|id| self.state.zone(id));
        looks.extend(zone.into_iter().flat_map(|zone| &zone.looks).map(|l| l.written.when.at_ms));
        let what: Vec<String> =
            phases.iter().map(|p| format!("{} {}–{}", p.name, p.from, p.until)).collect();
        let alt = says::strip_says(lang, what.join(", "));
        let file = format!("strip-{number}.svg");
        let svg = paper_style(&strip(&phases, &looks, &alt), FAMILY, MONO);
        form.pictures.insert(file.clone(), svg.into_bytes());
        form.blocks.push(Block::Picture { file, alt, wide_mm: 175 });
    }

    /// The stretch of the dial that the work takes, with its zone as the ring.
    fn dial_of(&self, form: &mut Form, work: &HotWork, number: usize) {
        let Some(zone) = &work.zone else { return };
        let first = work.permit.as_ref().map_or(&work.began, |permit| &permit.written);
        let from_ms = first.when.at_ms;
        let ends = [
            work.closed.as_ref().map(|closed| closed.when.at_ms),
            work.watch_until_ms,
            work.looks_until_ms,
        ];
        let Some(until_ms) = ends.into_iter().flatten().max().filter(|end| *end > from_ms) else {
            return;
        };
        let now_ms = (self.about_ms < until_ms).then_some(self.about_ms);
        let tz_min = self.local.offset_min(from_ms);
        let span = DialSpan { from_ms, until_ms, now_ms, tz_min };
        let mut drawn = watch_dial(&self.state, &self.findings, span);
        let Some(ring) = drawn.zones.iter().position(|facts| facts.id == *zone) else { return };
        drawn.input.zones = vec![drawn.input.zones.swap_remove(ring)];
        let alt = says::dial(self.lang(), self.names.zone(zone));
        let file = format!("dial-{number}.svg");
        let svg = paper_style(&dial(&drawn.input), FAMILY, MONO);
        form.pictures.insert(file.clone(), svg.into_bytes());
        form.blocks.push(Block::Beside {
            left_mm: 82,
            left: vec![Block::Picture { file, alt: alt.clone(), wide_mm: 82 }],
            right: vec![Block::soft(alt)],
        });
    }
}
