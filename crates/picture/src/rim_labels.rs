//! Labels around the rim that never overlap: they move along it until there is room.

/// Where labels end up when each wants its own turn and needs `room` turns: the same order, moved as
/// little as their neighbours force. Turns are 0 to 1; the rim closes on itself.
///
/// Returns as many turns as came in, in the same order. If there is not room for all, they are spread evenly.
pub(crate) fn spread(wanted: &[f64], room: f64) -> Vec<f64> {
    let n = wanted.len();
    if n < 2 {
        return wanted.to_vec();
    }
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|a, b| wanted[*a].total_cmp(&wanted[*b]).then(a.cmp(b)));
    let room = room.min(1.0 / n as f64);
    let mut turns: Vec<f64> = order.iter().map(|i| wanted[*i]).collect();
    // Pushing neighbours apart by half the lack each settles within a few dozen sweeps for eight labels.
    for _ in 0..200 {
        let mut moved = false;
        for i in 0..n {
            let next = (i + 1) % n;
            let wrap = if next == 0 { 1.0 } else { 0.0 };
            let lack = room - (turns[next] + wrap - turns[i]);
            if lack > 1e-9 {
                turns[i] -= lack / 2.0;
                turns[next] += lack / 2.0;
                moved = true;
            }
        }
        if !moved {
            break;
        }
    }
    let mut placed = vec![0.0; n];
    for (slot, index) in order.into_iter().enumerate() {
        placed[index] = turns[slot];
    }
    placed
}

#[cfg(test)]
mod tests {
    use super::spread;
    use proptest::prelude::*;

    #[test]
    fn two_at_one_place_step_aside_equally() {
        let placed = spread(&[0.5, 0.5], 0.1);
        assert!((placed[0] - 0.45).abs() < 1e-6 && (placed[1] - 0.55).abs() < 1e-6, "{placed:?}");
    }

    #[test]
    fn labels_with_room_stay_where_they_belong() {
        assert_eq!(spread(&[0.1, 0.9, 0.5], 0.06), [0.1, 0.9, 0.5]);
    }

    proptest! {
        #[test]
        fn eight_labels_never_overlap(wanted in prop::collection::vec(0.0..1.0f64, 2..9)) {
            let mut placed: Vec<f64> = spread(&wanted, 0.06).iter().map(|t| t.rem_euclid(1.0)).collect();
            placed.sort_by(f64::total_cmp);
            for pair in placed.windows(2) {
                prop_assert!(pair[1] - pair[0] > 0.0595, "{placed:?}");
            }
            prop_assert!(placed[0] + 1.0 - placed[placed.len() - 1] > 0.0595);
        }
    }
}
