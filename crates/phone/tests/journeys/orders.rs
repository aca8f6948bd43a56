//! Whatever the order of touches, radio, restarts and lost answers: what was kept reaches the desk
//! once, in one chain without a hole.

use crate::desk::Desk;
use crate::handset::Radio;
use crate::{EIGHT_MS, enrolled, sent};
use phone::{Page, Tap, What};
use proptest::prelude::*;

#[derive(Debug, Clone)]
enum Step {
    Here,
    Wait(i64),
    Radio(Radio),
    Woke,
    Restart,
    Dies(u64),
    Observe,
    Clear,
    Full(bool),
    Refuse,
    TakeBack,
}

fn step() -> impl Strategy<Value = Step> {
    prop_oneof![
        4 => Just(Step::Here),
        3 => (1..400i64).prop_map(Step::Wait),
        2 => prop_oneof![Just(Radio::On), Just(Radio::Off), Just(Radio::DropsAnswers), Just(Radio::Twice)]
            .prop_map(Step::Radio),
        1 => Just(Step::Woke),
        1 => Just(Step::Restart),
        1 => (0..12u64).prop_map(Step::Dies),
        1 => Just(Step::Observe),
        1 => Just(Step::Clear),
        1 => any::<bool>().prop_map(Step::Full),
        1 => Just(Step::Refuse),
        1 => Just(Step::TakeBack),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn nothing_kept_is_lost_or_doubled(steps in prop::collection::vec(step(), 1..40)) {
        let mut desk = Desk::open(EIGHT_MS, false);
        let mut ines = enrolled(&mut desk, 1, "p-ines", "Ines", "t-1");
        for step in steps {
            if ines.dead {
                ines.start(&mut desk);
            }
            match step {
                Step::Here => ines.tap(&mut desk, Tap::IAmHere),
                Step::Wait(seconds) => ines.wait_s(&mut desk, seconds),
                Step::Radio(radio) => ines.radio = radio,
                Step::Woke => ines.happen(&mut desk, What::Woke),
                Step::Restart => ines.start(&mut desk),
                Step::Dies(after) => ines.dies_at = Some(ines.steps + after),
                Step::Observe => {
                    ines.tap(&mut desk, Tap::Open(Page::Where(record::HazardClass::Exits)));
                    let zone = record::ZoneId::new("stair-b").unwrap();
                    ines.tap(&mut desk, Tap::At(zone, None));
                    ines.tap(&mut desk, Tap::Go(phone::Place::Round));
                }
                Step::Clear => ines.tap(&mut desk, Tap::RoundOver { all_clear: true }),
                Step::Full(full) => ines.disk.full = full,
                Step::Refuse => ines.tap(&mut desk, Tap::Refused(record::WhyNot::Locked)),
                Step::TakeBack => ines.tap(&mut desk, Tap::TakeBack),
            }
        }
        ines.disk.full = false;
        ines.radio = Radio::On;
        if ines.dead {
            ines.start(&mut desk);
        }
        ines.dies_at = None;
        ines.settle(&mut desk);
        prop_assert_eq!(sent(&ines.view()), "All sent");
        let device = ines.disk.device.as_ref().unwrap().key.device();
        let on_disk: Vec<_> = ines
            .disk
            .lines
            .values()
            .filter(|line| line.line.contains(&format!("\"dev\":\"{device}\"")))
            .map(|line| line.id)
            .collect();
        for id in &on_disk {
            let times = desk.kept.iter().filter(|kept| kept.line.id() == *id).count();
            prop_assert_eq!(times, 1);
        }
        let at_desk = desk.kept.iter().filter(|kept| kept.line.dev == device).count();
        prop_assert_eq!(at_desk, on_disk.len());
        prop_assert!(desk.aside.is_empty());
    }
}
