//! The incident report: one for each emergency of the record, in the order of time.
//!
//! Times, people, witnesses, how it was put out, the probable cause, and when and how the fire service
//! was told: what a published log rule asks of any fire, whatever its size (Los Angeles Municipal Code
//! 57.324.18.1.1).

use crate::page::Page;
use crate::sheets::{Block, Field, Form, Photo, Table};
use record::EmergencyStage;
use rules::say::Say;
use watch::{Emergency, Kept, Stamp};
use words::{duration_words, paper_incident as says, papers, report};

/// How long before and after an emergency lines belong to its story (our own figure): one or two
/// rounds on either side.
const AROUND_MS: i64 = 30 * 60_000;

pub(crate) fn compose(page: &Page<'_>) -> Form {
    let lang = page.lang();
    let drill =
        page.state.emergencies.iter().all(|e| e.drill) && !page.state.emergencies.is_empty();
    let mut form = page.form(if drill { says::title_drill(lang) } else { says::title(lang) });
    let emergencies: Vec<&Emergency> =
        page.state.emergencies.iter().filter(|e| overlaps(page, e)).collect();
    if emergencies.is_empty() {
        form.blocks.push(Block::soft(says::none(lang)));
        page.one_incident(&mut form, None);
    }
    for (i, emergency) in emergencies.iter().enumerate() {
        if i > 0 {
            form.blocks.push(Block::Sheet);
        }
        if emergencies.len() > 1 {
            let title = says::number(lang, i + 1, emergencies.len());
            form.blocks.push(Block::Part { says: title });
        }
        page.one_incident(&mut form, Some(emergency));
    }
    page.add_sources(&mut form);
    form
}

fn overlaps(page: &Page<'_>, emergency: &Emergency) -> bool {
    page.request.stretch.is_none()
        || emergency.stamps.iter().any(|stamp| page.within(stamp.written.when.at_ms))
}

/// The stamp that says when it was first seen: *seen*, else the first of all.
fn first(emergency: &Emergency) -> Option<&Stamp> {
    let seen = emergency.stamps.iter().find(|stamp| stamp.stage == EmergencyStage::Seen);
    seen.or(emergency.stamps.first())
}

impl Page<'_> {
    fn one_incident(&self, form: &mut Form, emergency: Option<&Emergency>) {
        let lang = self.lang();
        let seen_ms = emergency.and_then(first).map(|stamp| stamp.written.when.at_ms);
        form.blocks.extend([self.site_fields(2), self.incident_fields(emergency)]);
        if self.state.is_held() {
            form.blocks.push(Block::says(says::hold(lang)));
        }
        form.blocks.push(Block::part(says::stages(lang)));
        form.blocks.push(Block::Table(self.stages(emergency, seen_ms)));
        form.blocks.push(Block::soft(says::stages_note(lang)));
        form.blocks.push(Block::part(says::calls(lang)));
        form.blocks.push(Block::Table(self.calls(emergency, seen_ms)));
        form.blocks.push(Block::soft(says::calls_note(lang)));
        if let (Some(emergency), Some(seen_ms)) = (emergency, seen_ms) {
            self.looks_before(form, emergency, seen_ms);
            self.who_knew(form, emergency, seen_ms);
            self.incident_photos(form, emergency, seen_ms);
        }
        form.blocks.push(Block::part(says::facts(lang)));
        let by_hand = [
            says::witnesses(lang),
            says::people(lang),
            says::put_out(lang),
            says::cause(lang),
            says::damage(lang),
            says::call_number(lang),
        ];
        let rows = by_hand.into_iter().map(Field::blank).collect();
        form.blocks.push(Block::Fields { columns: 1, rows });
        let rows = [says::sign_writer(lang), says::sign_supervisor(lang)].map(str::to_owned);
        form.blocks.push(Block::Signatures { rows: rows.to_vec() });
    }

    fn incident_fields(&self, emergency: Option<&Emergency>) -> Block {
        let lang = self.lang();
        let stamp = emergency.and_then(first);
        let stop = emergency.and_then(|e| e.stamps.iter().find_map(|stamp| stamp.stop.as_ref()));
        let zone = emergency.and_then(|e| e.zone.as_ref());
        let at_ms = stamp.map(|stamp| stamp.written.when.at_ms);
        let on_duty = at_ms.map(|at_ms| self.on_duty_at(at_ms).join(", "));
        let stopped = emergency.and_then(|e| e.rounds_stopped).map(|(from_ms, to_ms)| {
            let from = self.clock(from_ms);
            match to_ms {
                Some(to_ms) => says::stopped_span(lang, from, self.clock(to_ms)),
                None => says::stopped_open(lang, from),
            }
        });
        let written_by = stamp.map(|stamp| self.names.person(&stamp.written.who).to_owned());
        Block::Fields {
            columns: 2,
            rows: vec![
                Field::maybe(says::place(lang), zone.map(|zone| self.names.zone(zone).to_owned())),
                Field::maybe(
                    says::last_stop(lang),
                    stop.map(|stop| self.names.stop(stop).to_owned()),
                ),
                Field::maybe(says::first_seen(lang), at_ms.map(|at_ms| self.stamp(at_ms))),
                Field::maybe(says::writer(lang), written_by),
                Field::maybe(says::on_duty(lang), on_duty),
                Field::maybe(says::stopped(lang), stopped),
            ],
        }
    }

    fn on_duty_at(&self, at_ms: i64) -> Vec<&str> {
        let mut people = Vec::new();
        for shift in &self.state.shifts {
            let there = shift.from_ms <= at_ms && shift.until_ms.is_none_or(|end| end > at_ms);
            let name = self.names.person(&shift.who);
            if there && !people.contains(&name) {
                people.push(name);
            }
        }
        people
    }

    /// Every stage, stated or blank, with how long after the first look it came.
    fn stages(&self, emergency: Option<&Emergency>, seen_ms: Option<i64>) -> Table {
        let lang = self.lang();
        let mut rows = Vec::new();
        for stage in EmergencyStage::ALL {
            let stamps = emergency.into_iter().flat_map(|e| &e.stamps);
            let stamps: Vec<_> = stamps.filter(|stamp| stamp.stage == stage).collect();
            if stamps.is_empty() && stage != EmergencyStage::Opened {
                rows.push(vec![stage.say(lang).to_owned(), String::new(), String::new()]);
            }
            for stamp in stamps {
                let when = &stamp.written.when;
                rows.push(vec![
                    stage.say(lang).to_owned(),
                    self.local.clock_with_seconds(when.at_ms),
                    delay(seen_ms, when.at_ms),
                    self.names.person(&stamp.written.who).to_owned(),
                    self.local.clock_with_seconds(when.recorded_ms),
                    self.received_at(when),
                ]);
            }
        }
        for row in &mut rows {
            row.resize(6, String::new());
        }
        Table {
            head: [
                says::head_stage(lang),
                papers::time(lang),
                says::head_after(lang),
                papers::who(lang),
                papers::written(lang),
                says::head_received(lang),
            ]
            .map(str::to_owned)
            .to_vec(),
            wide: vec![0, 3],
            widest: None,
            mono: vec![1, 2, 4, 5],
            rows,
            blank: 0,
        }
    }

    fn received_at(&self, when: &watch::When) -> String {
        match when.sealed.not_after_ms {
            Some(at_ms) => self.local.clock_with_seconds(at_ms),
            None => report::not_received(self.lang()).to_owned(),
        }
    }

    /// Who was told around it, by what means, and how long after the first look.
    fn calls(&self, emergency: Option<&Emergency>, seen_ms: Option<i64>) -> Table {
        let lang = self.lang();
        let mut rows: Vec<(i64, Vec<String>)> = Vec::new();
        if let (Some(emergency), Some(seen_ms)) = (emergency, seen_ms) {
            let (from_ms, until_ms) = around(emergency, seen_ms);
            for told in &self.state.communications {
                let at_ms = told.written.when.at_ms;
                if (from_ms..=until_ms).contains(&at_ms) {
                    let how = told.means.say(lang);
                    let reached = match told.reached {
                        true => papers::reached(lang),
                        false => papers::not_reached(lang),
                    };
                    rows.push((
                        at_ms,
                        vec![
                            self.clock(at_ms),
                            delay(Some(seen_ms), at_ms),
                            self.party(told.party),
                            format!("{how}, {reached}"),
                            self.names.person(&told.written.who).to_owned(),
                        ],
                    ));
                }
            }
        }
        rows.sort();
        Table {
            head: [
                papers::time(lang),
                says::head_after(lang),
                says::told(lang),
                papers::how(lang),
                papers::told_by(lang),
            ]
            .map(str::to_owned)
            .to_vec(),
            wide: vec![2, 3, 4],
            widest: None,
            mono: vec![0, 1],
            rows: rows.into_iter().map(|(_, row)| row).collect(),
            blank: 2,
        }
    }

    /// When somebody last looked at the zone before it was seen to burn.
    fn looks_before(&self, form: &mut Form, emergency: &Emergency, seen_ms: i64) {
        let lang = self.lang();
        let Some(zone) = emergency.zone.as_ref().and_then(|id| self.state.zone(id)) else { return };
        let before = zone.looks.iter().filter(|look| look.written.when.at_ms < seen_ms);
        form.blocks.push(Block::part(says::looks(lang)));
        let mut said = match before.max_by_key(|look| look.written.when.at_ms) {
            None => says::looks_none(lang).to_owned(),
            Some(look) => {
                let at_ms = look.written.when.at_ms;
                let how = match look.how {
                    watch::How::Tag => record::HowSeen::Tag.say(lang),
                    watch::How::Position => record::HowSeen::Position.say(lang),
                    _ => record::HowSeen::Hand.say(lang),
                };
                says::look_before(
                    lang,
                    duration_words((seen_ms - at_ms) / 1000),
                    how,
                    self.clock(at_ms),
                )
            }
        };
        if let Some(gap_s) = zone.gap_s {
            said += " ";
            said += &says::look_allowed(lang, duration_words(i64::from(gap_s)));
        }
        form.blocks.push(Block::says(said));
    }

    fn who_knew(&self, form: &mut Form, emergency: &Emergency, seen_ms: i64) {
        let lang = self.lang();
        let (from_ms, until_ms) = around(emergency, seen_ms);
        let mut lines: Vec<(i64, &Kept)> = self
            .request
            .watch
            .lines()
            .map(|line| (self.at(line), line))
            .filter(|(at_ms, _)| (from_ms..=until_ms).contains(at_ms))
            .filter(|(_, line)| is_of_people(line) && !self.is_of_other_places(line, emergency))
            .collect();
        lines.sort_by_key(|(at_ms, line)| (*at_ms, line.dev, line.seq));
        let rows = lines.into_iter().map(|(at_ms, line)| self.knew(at_ms, line)).collect();
        form.blocks.push(Block::part(says::knew(lang)));
        form.blocks.push(Block::soft(says::knew_note(
            lang,
            self.clock(from_ms),
            self.clock(until_ms),
        )));
        form.blocks.push(Block::Table(Table {
            head: [
                papers::time(lang),
                papers::written(lang),
                papers::who(lang),
                papers::what(lang),
            ]
            .map(str::to_owned)
            .to_vec(),
            wide: vec![3],
            widest: None,
            mono: vec![0, 1],
            rows,
            blank: 0,
        }));
    }

    /// Rounds, and looks at places that did not burn.
    fn is_of_other_places(&self, line: &Kept, emergency: &Emergency) -> bool {
        use record::Entry::{RoundBegan, RoundEnded, Seen};
        match &line.said {
            RoundBegan(_) | RoundEnded(_) => true,
            Seen(_) => {
                let zone = emergency.zone.as_ref().and_then(|id| self.state.zone(id));
                zone.is_some_and(|zone| zone.looks.iter().all(|look| look.written.line != line.id))
            }
            _ => false,
        }
    }

    fn knew(&self, at_ms: i64, line: &Kept) -> Vec<String> {
        let row = self.log_row(at_ms, line);
        let mut what = row.what.says;
        for words in row.what.words {
            what += &format!(" “{words}”");
        }
        if !row.what.marks.is_empty() {
            what += &format!(" ({})", row.what.marks.join("; "));
        }
        vec![row.happened, row.written, row.who, what]
    }

    fn incident_photos(&self, form: &mut Form, emergency: &Emergency, seen_ms: i64) {
        let (from_ms, until_ms) = around(emergency, seen_ms);
        let rows: Vec<Photo> = self.photos_between(from_ms, until_ms);
        if rows.is_empty() {
            return;
        }
        form.blocks.push(Block::part(report::photos(self.lang())));
        form.blocks.push(Block::soft(report::photos_note(self.lang())));
        for photo in &rows {
            if let Some(file) = &photo.file {
                form.pictures.insert(file.clone(), photo.bytes.clone());
            }
        }
        form.blocks.push(Block::Photos { rows });
    }
}

fn around(emergency: &Emergency, seen_ms: i64) -> (i64, i64) {
    let last = emergency.stamps.last().map_or(seen_ms, |stamp| stamp.written.when.at_ms);
    (seen_ms - AROUND_MS, last + AROUND_MS)
}

/// The log's own ticks and counts tell nothing of what happened.
fn is_of_people(line: &Kept) -> bool {
    use record::Entry::{SealedChains, Tick};
    !matches!(line.said, SealedChains(_) | Tick(_))
}

/// `+3 min 20 s`; a stamp before the first look shows a minus.
fn delay(seen_ms: Option<i64>, at_ms: i64) -> String {
    let Some(seen_ms) = seen_ms else { return String::new() };
    let delay_s = (at_ms - seen_ms) / 1000;
    let sign = if delay_s < 0 { "−" } else { "+" };
    let (min, s) = (delay_s.abs() / 60, delay_s.abs() % 60);
    match min {
        0 => format!("{sign}{}", words::seconds(s)),
        _ => format!("{sign}{}{}{}", words::minutes(min), words::NBSP, words::seconds(s)),
    }
}

#[cfg(test)]
mod tests {
    use super::delay;

    #[test]
    fn a_delay_has_a_sign_and_seconds() {
        assert_eq!(delay(Some(0), 200_000), "+3\u{a0}min\u{a0}20\u{a0}s");
        assert_eq!(delay(Some(60_000), 0), "−1\u{a0}min\u{a0}0\u{a0}s");
        assert_eq!(delay(Some(0), 9_000), "+9\u{a0}s");
        assert_eq!(delay(None, 9_000), "");
    }
}
