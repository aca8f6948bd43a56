//! Every target takes its good inputs, whole and cut short.

#[test]
fn good_inputs_hold() {
    for target in fuzz::TARGETS {
        let seeds = (target.seeds)();
        let fitting = seeds.iter().filter(|seed| seed.len() <= target.longest).count();
        assert!(fitting > 0, "{}: no good input is short enough", target.name);
        for seed in &seeds {
            (target.reads)(seed);
            (target.reads)(&seed[..seed.len() / 2]);
        }
        (target.reads)(b"");
    }
}

#[test]
fn names_are_those_of_one_target_each() {
    let mut names: Vec<&str> = fuzz::TARGETS.iter().map(|target| target.name).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), fuzz::TARGETS.len());
}
