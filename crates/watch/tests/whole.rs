//! Everything that the state of a night holds, field by field, so that nothing of it can go missing unseen.
//!
//! The files beside this are read against the story that made them: every time is a clock time of the story, every line is told
//! by when it was written and what it states. What is false, empty or not there is left out.

use expect_test::{ExpectFile, expect_file};
use serde_json::{Map, Value};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// The state at each of the clock times, in minutes after 20:00 of the first day; at the end of the night without any.
fn whole(night: &str, minutes: &[i64], expected: ExpectFile) {
    let record = night::tell(night).unwrap_or_else(|fault| panic!("{fault}"));
    let watch = record.folded();
    let told = Told::of(&record);
    let mut out = String::new();
    let start_ms = watch.about(record.end_ms).opening.expect("a night opens").from_ms;
    let mut instants: Vec<i64> = minutes.iter().map(|minute| start_ms + minute * 60_000).collect();
    if instants.is_empty() {
        instants.push(record.end_ms);
    }
    for at_ms in instants {
        let mut state = serde_json::to_value(watch.about(at_ms)).expect("a state is JSON");
        // Another room may have asked for maps that keep the order in which members came.
        state.sort_all_objects();
        let Value::Object(fields) = state else { panic!("a state has fields") };
        for (name, value) in fields {
            told.lines(&name, value, &mut out);
        }
        out.push('\n');
    }
    expected.assert_eq(&out);
}

/// What stands in place of digests and milliseconds.
struct Told {
    names: BTreeMap<String, String>,
    zone_min: i64,
}

impl Told {
    fn of(record: &night::Record) -> Told {
        let mut told = Told { names: BTreeMap::new(), zone_min: record.tz_min };
        for line in &record.lines {
            let written = told.clock(line.line.clk.recorded_ms());
            let name = format!("<{written} {}>", line.line.kind);
            told.names.insert(line.line.id().to_string(), name);
        }
        for (place, key) in record.keys.iter().enumerate() {
            told.names.insert(key.device().to_string(), format!("device {place}"));
        }
        told
    }

    fn clock(&self, ms: i64) -> String {
        let s = ms.div_euclid(1_000) + self.zone_min * 60;
        let (h, min, s) =
            (s.div_euclid(3_600).rem_euclid(24), s.div_euclid(60).rem_euclid(60), s.rem_euclid(60));
        let rest = ms.rem_euclid(1_000);
        if rest == 0 {
            format!("{h:02}:{min:02}:{s:02}")
        } else {
            format!("{h:02}:{min:02}:{s:02}.{rest:03}")
        }
    }

    fn lines(&self, name: &str, value: Value, out: &mut String) {
        match self.plain(name, value) {
            None => {}
            Some(Value::Array(all)) => {
                for one in all {
                    writeln!(out, "{name}: {one}").expect("writing to a string");
                }
            }
            Some(one) => writeln!(out, "{name}: {one}").expect("writing to a string"),
        }
    }

    /// None for what is left out.
    fn plain(&self, name: &str, value: Value) -> Option<Value> {
        let of_time = (name.ends_with("_ms") || matches!(name, "other_duties" | "rounds_stopped"))
            && !matches!(
                name,
                "half_width_ms"
                    | "error_ms"
                    | "sealed_after_ms"
                    | "by_ms"
                    | "stopped_ms"
                    | "open_ms"
            );
        match value {
            Value::Null | Value::Bool(false) => None,
            Value::Number(ms) if of_time => Some(self.clock(ms.as_i64()?).into()),
            Value::String(text) => Some(match self.names.get(&text) {
                Some(told) => told.clone().into(),
                None if text.len() == 64 => "<digest>".into(),
                None => text.into(),
            }),
            Value::Array(all) => {
                let all: Vec<Value> =
                    all.into_iter().filter_map(|one| self.plain(name, one)).collect();
                (!all.is_empty()).then_some(Value::Array(all))
            }
            Value::Object(fields) if fields.contains_key("recorded_ms") => Some(self.when(&fields)),
            Value::Object(fields) if fields.contains_key("when") && fields.contains_key("via") => {
                Some(self.written(&fields))
            }
            Value::Object(fields) => {
                let told =
                    |text: &str| self.names.get(text).cloned().unwrap_or_else(|| text.to_owned());
                let fields: Map<String, Value> = fields
                    .into_iter()
                    .filter_map(|(name, value)| Some((told(&name), self.plain(&name, value)?)))
                    .collect();
                (!fields.is_empty()).then_some(Value::Object(fields))
            }
            other => Some(other),
        }
    }

    /// The line, who stated it, and what else there is to say of how it came.
    fn written(&self, fields: &Map<String, Value>) -> Value {
        let text = |name: &str| {
            let text = fields[name].as_str().expect("a text");
            self.names.get(text).cloned().unwrap_or_else(|| text.to_owned())
        };
        let when = fields["when"].as_object().expect("a time");
        let mut out = format!("{} {}, {}", text("line"), text("who"), text("dev"));
        if text("via") != "device" {
            write!(out, ", via {}", text("via")).expect("writing to a string");
        }
        if !fields["corrected"].is_null() {
            write!(out, ", corrected {}", text("corrected")).expect("writing to a string");
        }
        if let Some(when) = self.when(when).as_str()
            && !text("line").starts_with(&format!("<{when} "))
        {
            write!(out, ", {when}").expect("writing to a string");
        }
        out.into()
    }

    /// The time that counts, and what differs from it.
    fn when(&self, fields: &Map<String, Value>) -> Value {
        let ms = |name: &str| fields[name].as_i64().expect("a time");
        let (at_ms, recorded_ms) = (ms("at_ms"), ms("recorded_ms"));
        let mut text = self.clock(at_ms);
        if recorded_ms != at_ms {
            write!(text, ", written {}", self.clock(recorded_ms)).expect("writing to a string");
        }
        let sealed = &fields["sealed"];
        match sealed["not_after_ms"].as_i64() {
            Some(sealed_ms) if sealed_ms - recorded_ms > 60_000 => {
                write!(text, ", sealed {}", self.clock(sealed_ms)).expect("writing to a string")
            }
            Some(_) => {}
            None => text.push_str(", not sealed"),
        }
        if !fields["doubt"].is_null() {
            write!(text, ", doubt {}", fields["doubt"]).expect("writing to a string");
        }
        text.into()
    }
}

#[test]
fn people_who_come_go_and_pause() {
    whole(
        "watch: 20:00 to 04:00
         people: Ines, Omar, Jon
         gap hall: 60 min
         gap attic: 2 h
         stop hall-2: hall
         route: hall-1, hall-2, attic-1
         legs: 60 s, 30 s, 90 s
         first round: 15 min
         phone of Omar: offline 22:10 to 23:00
         19:50 the desk plans Ines from 20:00 to 22:00
         19:51 the desk plans Omar from 22:00 to 04:00
         19:52 the desk plans Jon from 22:00 to 04:00
         19:55 Ines reads the notice
         20:00 Ines begins until 22:00
         20:01 Ines reads the instructions
         20:02 Ines checks the kit without horn
         20:03 Ines tries the call in hall
         20:04 Omar begins
         20:06 Ines begins a round
         20:07 Ines sees hall at hall-2
         20:09 Ines cannot reach attic-1, locked
         20:10 Omar begins a round
         20:11 Ines ends the round with findings
         20:12 Omar sees attic
         20:13 Omar ends the round
         20:15 Ines takes a break, covered by Omar
         20:30 Ines ends the break
         20:40 Omar takes a break
         20:50 Omar ends the break
         21:00 Ines is given another duty
         21:10 Ines ends the other duty
         21:20 Ines enters block-a
         21:30 Ines begins a round
         21:31 Ines sees hall
         21:32 Ines takes back the last line
         21:34 Ines sees hall
         21:35 Ines corrects the last line to attic
         21:36 Ines sees hall
         21:37 Ines corrects the time of the last line as of 21:33
         21:40 Ines ends the round
         21:50 Ines finds exits in hall, this-shift: Back door held open
         21:52 Ines finds rubbish in hall: Full chute
         21:55 Ines offers relief to Omar
         22:00 Omar relieves Ines
         22:01 Ines ends and signs
         22:02 Jon begins
         22:20 Omar sees attic
         22:40 Jon sees hall
         22:50 Jon takes a break
         23:10 Omar ends without signing",
        &[62, 100, 175, 210],
        expect_file!["whole/people.txt"],
    );
}

#[test]
fn what_was_found_told_asked_and_handed_over() {
    whole(
        "watch: 20:00 to 23:00
         gap hall: 60 min
         gap attic: 2 h
         owed delivery: 2 h
         20:00 Ines begins
         20:05 Ines finds fire-doors in hall: Latch taped
         20:06 Ines photographs it
         20:07 Ines tells the owner by phone about it
         20:08 Ines does shut about fire-doors
         20:09 Ines asks: Who has the key?
         20:10 Ines finds electrical in attic, life-now: Bare wire
         20:11 Ines sends the same photo again
         20:12 the desk answers: Night porter
         20:13 Ines does switched-off and posted about electrical
         20:14 Ines does not reach electrician by phone
         20:15 Ines tells the supervisor by radio
         20:16 Ines asks: And the other key?
         20:20 the desk marks fire-doors fixed
         20:25 Ines closes fire-doors with cleared
         20:30 Ines notes: Guest unwell on floor 2
         20:35 the desk receives order 26-118 of authority, gap of hall 20 min
         20:40 the desk sets the gap of attic to 90 min
         20:45 the desk alerts, late in hall
         20:46 Ines takes the alert
         20:47 the desk alerts, asked in attic
         20:50 the desk sets a hold
         20:55 the desk lifts the hold
         20:56 the desk sets a hold
         21:00 the desk allows paper, phone-dead
         21:20 the desk hears by telephone from Ines, 21:15 hall
         21:40 the desk hands over 2 sheets
         21:41 the desk types from paper of Ines, 21:10 hall
         21:42 the desk types from paper of Ines, 21:12, rubbish in attic: Full chute
         21:50 the desk allows paper, phone-lost
         22:00 the desk visits as authority
         22:10 the phone of Ines tells 40 %
         22:20 the phone of Ines holds something unknown
         22:30 Ines sees hall
         23:00 Ines ends and signs
         23:01 the desk reviews the shift
         23:02 the desk countersigns the watch
         23:05 the desk fails to send the report
         23:06 the desk sends the report
         23:07 the server sends report 2 of the watch, 20:00 to 23:00
         23:08 the desk releases the watch by client
         23:09 the desk releases the watch by authority in writing",
        &[21, 65, 125, 200],
        expect_file!["whole/things.txt"],
    );
}

#[test]
fn two_pieces_of_hot_work_and_two_permits() {
    whole(
        "watch: 20:00 to 03:00
         gap hall: 4 h
         gap roof: 4 h
         20:00 Ines begins
         20:05 Ines reads a permit for hall, watch 60 min, looks 60 min every 20 min
         20:10 Ines notes hot work in hall
         20:40 Ines notes that the work goes on
         20:50 Ines sees the last spark
         21:00 Ines notes that the work goes on
         21:10 Ines sees the last spark
         21:20 Ines reads a permit for roof, watch 30 min
         21:25 Ines notes hot work in roof
         21:30 Ines stops the work
         21:40 Ines sees the last spark
         22:15 Ines looks back, not clear
         22:20 Ines looks back
         22:25 Ines closes the hot work without a survey
         22:40 Ines notes hot work in hall
         22:50 Ines sees the last spark
         23:50 Ines closes the hot work",
        &[45, 75, 105, 260],
        expect_file!["whole/hot-work.txt"],
    );
}

#[test]
fn systems_that_are_out_and_emergencies() {
    whole(
        "watch: 20:00 to 02:00
         out: sprinkler
         gap hall: 30 min
         20:00 Ines begins
         20:01 the desk finds out that sprinkler is out since 19:30, expected back 23:00
         20:02 the desk finds out that sprinkler is out since 19:50
         20:03 the desk notifies the fire-service by phone of sprinkler
         20:04 the desk notifies the owner by mail of fire-alarm
         20:05 the desk finds out that fire-alarm is out since 20:05
         20:10 Ines sees hall
         20:15 Ines opens the card
         20:16 Ines opens the card
         20:20 Ines begins a drill
         20:21 Ines calls the fire service
         20:22 Ines says it is over
         20:23 Ines ends the drill
         20:30 Ines sees hall
         20:40 Ines sees fire in hall
         20:41 Ines opens the card
         20:42 Ines gives the alarm
         20:43 Ines calls the fire service
         20:44 Ines says everyone is out
         21:00 Ines sees the engine
         21:10 Ines says it is over
         21:15 Ines sees hall
         21:20 Ines calls the fire service
         21:30 Ines says it is over
         21:40 Ines sees hall
         22:00 the desk restores sprinkler with tested
         22:01 the desk restores sprinkler with tag-removed
         22:02 the desk notifies the fire-service by phone of the end of sprinkler
         22:05 Ines sees hall
         22:30 the desk finds out that sprinkler is out since 22:25
         22:35 Ines sees hall
         22:40 Ines begins a drill
         22:45 Ines calls the fire service
         22:50 Ines says this is real
         22:51 Ines calls the fire service",
        &[15, 22, 50, 95, 165, 180],
        expect_file!["whole/systems.txt"],
    );
}

#[test]
fn a_phone_whose_clock_moves_without_signal() {
    whole(
        "watch: 20:00 to 23:00
         people: Ines, Omar
         gap hall: 30 min
         phone of Ines: offline 20:12 to 21:40
         phone of Omar: clock 30 s ahead
         20:00 Ines begins
         20:00 Omar begins
         20:10 Ines sees hall
         20:20 the phone of Ines is set back 30 min
         20:25 Ines sees hall
         20:30 Omar sees hall
         20:40 the phone of Ines starts anew
         20:50 Ines sees hall
         21:45 Ines sees hall
         21:50 Omar sees hall
         22:00 Omar sees hall on the phone of Ines
         22:55 Ines ends and signs",
        &[35, 120, 178],
        expect_file!["whole/clock.txt"],
    );
}
