use super::*;
use proptest::prelude::*;

/// A device with clocks that can be moved, beside true time (which is the server's).
#[derive(Clone)]
struct Device {
    true_ms: i64,
    wall_ms: i64,
    mono_ms: i64,
    boot: u32,
    measured: Option<(i64, i64, i64)>,
}

#[derive(Debug, Clone)]
enum Act {
    Wait(i64),
    Sleep(i64),
    Set(i64),
    Restart,
    /// Measures with an error, which stays inside the half-width that is claimed.
    Measure(i64),
    Write,
}

impl Device {
    fn new(wrong_ms: i64) -> Device {
        let true_ms = 1_700_000_000_000;
        let wall_ms = true_ms + wrong_ms;
        Device { true_ms, wall_ms, mono_ms: 0, boot: 0, measured: None }
    }

    fn act(&mut self, act: &Act) -> Option<(i64, Clk)> {
        match *act {
            Wait(ms) => {
                self.true_ms += ms;
                self.wall_ms += ms;
                self.mono_ms += ms;
            }
            Sleep(ms) => {
                self.true_ms += ms;
                self.wall_ms += ms;
            }
            Set(ms) => self.wall_ms += ms,
            Restart => {
                self.boot += 1;
                self.mono_ms = 0;
                self.measured = None;
            }
            Measure(wrong_ms) => {
                let off = self.true_ms - self.wall_ms + wrong_ms;
                self.measured = Some((off, wrong_ms.abs() + 40, self.mono_ms));
            }
            Write => return Some((self.true_ms, self.clk())),
        }
        None
    }

    fn clk(&self) -> Clk {
        Clk {
            wall: self.wall_ms,
            mono: self.mono_ms,
            boot: format!("b{}", self.boot),
            off: self.measured.map(|(off, _, _)| off),
            err: self.measured.map(|(_, err, _)| err),
            age: self.measured.map(|(_, _, at)| self.mono_ms - at),
            tz: 0,
        }
    }
}

fn run(wrong_ms: i64, acts: &[Act]) -> Vec<(i64, Recorded)> {
    let mut device = Device::new(wrong_ms);
    let written: Vec<(i64, Clk)> = acts.iter().filter_map(|act| device.act(act)).collect();
    let times = recorded_from_clocks(written.iter().map(|(_, clk)| clk));
    written.iter().map(|(true_ms, _)| *true_ms).zip(times).collect()
}

fn check(acts: &[Act], expected: &[&str]) {
    let says = |time: &Recorded| match time.standing {
        Standing::Good { confirmed } => (if confirmed { "confirmed" } else { "good" }).to_owned(),
        Standing::Conflicting(reason) => reason.to_string(),
    };
    let found: Vec<String> = run(-5_000, acts).iter().map(|(_, time)| says(time)).collect();
    assert_eq!(found, expected);
}

use Act::{Measure, Restart, Set, Sleep, Wait, Write};

#[test]
fn an_honest_night_without_signal_is_confirmed_in_the_morning() {
    let acts =
        [Measure(0), Write, Wait(900_000), Write, Sleep(7_200_000), Write, Measure(30), Write];
    check(&acts, &["confirmed", "confirmed", "confirmed", "good"]);
}

#[test]
fn without_a_comparison_there_is_nothing_to_judge_by() {
    check(&[Write, Measure(0), Write], &["never compared with the server's clock", "good"]);
    check(
        &[Measure(0), Write, Restart, Write],
        &["good", "never compared with the server's clock"],
    );
}

#[test]
fn a_clock_set_back_is_certain() {
    let acts = [Measure(0), Write, Wait(60_000), Set(-3_600_000), Write, Wait(60_000), Write];
    check(&acts, &["good", "clock set back by 3600 s", "clock set back by 3600 s"]);
}

#[test]
fn a_clock_set_forward_shows_when_it_comes_back_or_is_measured() {
    let there = [Measure(0), Write, Wait(60_000), Set(600_000), Write];
    check(&there, &["good", "good"]);
    let back = [there.as_slice(), &[Wait(60_000), Set(-600_000), Write]].concat();
    check(&back, &["good", "clock set forward by 600 s and back", "clock set back by 600 s"]);
    let moved = "clock moved by -600 s between two comparisons";
    let measured = [there.as_slice(), &[Measure(0), Write]].concat();
    check(&measured, &[moved, moved, "good"]);
}

#[test]
fn a_time_outside_its_seal_is_no_time() {
    let (true_ms, time) = run(0, &[Measure(0), Write])[0];
    let sealed = Sealed::between(Some((true_ms - 60_000, 5)), Some((true_ms + 90_000, 5)));
    assert!(time.against(&sealed).is_good());
    assert_eq!(sealed.late_ms(&time), Some(90_005));
    let early = Sealed { not_after_ms: Some(true_ms - 60_000), ..sealed };
    let late = Sealed { not_before_ms: Some(true_ms + 60_000), ..sealed };
    for wrong in [early, late] {
        let standing = time.against(&wrong).standing;
        assert_eq!(standing, Standing::Conflicting(Reason::OutsideSeal));
    }
    assert!(time.against(&Sealed::default()).is_good());
}

fn honest() -> impl Strategy<Value = Act> {
    prop_oneof![
        3 => (1..600_000i64).prop_map(Wait),
        2 => (1..20_000_000i64).prop_map(Sleep),
        1 => Just(Restart),
        2 => (-200..200i64).prop_map(Measure),
        6 => Just(Write),
    ]
}

fn tampering() -> impl Strategy<Value = Act> {
    prop_oneof![
        3 => (1..600_000i64).prop_map(Wait),
        2 => prop_oneof![10_000..40_000_000i64, -40_000_000..-10_000i64].prop_map(Set),
        2 => (-200..200i64).prop_map(Measure),
        6 => Just(Write),
    ]
}

proptest! {
    /// Whatever an honest device goes through (wrong by up to 12 h, asleep, restarted), its times
    /// are never called conflicting once compared, and always contain the true time.
    #[test]
    fn honest_times_are_good_and_contain_the_truth(
        wrong_ms in -43_200_000..43_200_000i64,
        acts in proptest::collection::vec(honest(), 1..60),
    ) {
        for (true_ms, time) in run(wrong_ms, &acts) {
            if let Some((earliest, latest)) = time.bounds_ms() {
                prop_assert!(time.is_good(), "{time:?}");
                prop_assert!(earliest <= true_ms && true_ms <= latest, "{true_ms} {time:?}");
            } else {
                prop_assert_eq!(time.standing, Standing::Conflicting(Reason::NeverMeasured));
            }
        }
    }

    /// On a device that stayed awake, a confirmed time contains the true time however often its
    /// clock was set.
    #[test]
    fn confirmed_times_contain_the_truth(
        wrong_ms in -43_200_000..43_200_000i64,
        acts in proptest::collection::vec(tampering(), 1..60),
    ) {
        for (true_ms, time) in run(wrong_ms, &acts) {
            if time.standing == (Standing::Good { confirmed: true }) {
                let (earliest, latest) = time.bounds_ms().unwrap();
                let slack = AGREE_MS;
                prop_assert!(earliest - slack <= true_ms && true_ms <= latest + slack);
            }
        }
    }

    /// The sealed interval contains the true time by the server's clock, whose error is inside the
    /// half-width that it states.
    #[test]
    fn seals_contain_the_truth(
        head_before_ms in 0..100_000_000i64,
        sent_after_ms in 0..100_000_000i64,
        rxe in 0..5_000i64,
        wrong in -1.0..1.0f64,
    ) {
        let written_ms = 1_700_000_000_000i64;
        let server = |true_ms: i64| (true_ms + (wrong * rxe as f64) as i64, rxe);
        let quoted = server(written_ms - head_before_ms);
        let received = server(written_ms + sent_after_ms);
        let sealed = Sealed::between(Some(quoted), Some(received));
        prop_assert!(sealed.overlaps((written_ms, written_ms)));
    }
}
