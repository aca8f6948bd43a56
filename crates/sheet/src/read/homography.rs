//! The map from a flat page to its picture: a homography from four points (Hartley and Zisserman,
//! Multiple View Geometry, chapter 4; solved here exactly, from memory of the normal form).

/// A point.
pub(crate) type Point = (f64, f64);

/// Maps points of one plane to another.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Homography([f64; 8]);

impl Homography {
    /// The map that takes each of four points to its image. None if three of them lie on a line.
    pub(crate) fn of(from: [Point; 4], to: [Point; 4]) -> Option<Homography> {
        let mut rows = [[0.0; 9]; 8];
        for (at, ((x, y), (u, v))) in from.into_iter().zip(to).enumerate() {
            rows[2 * at] = [x, y, 1.0, 0.0, 0.0, 0.0, -x * u, -y * u, u];
            rows[2 * at + 1] = [0.0, 0.0, 0.0, x, y, 1.0, -x * v, -y * v, v];
        }
        solve(rows).map(Homography)
    }

    /// The image of a point.
    pub(crate) fn at(&self, x: f64, y: f64) -> Point {
        let h = &self.0;
        let w = h[6] * x + h[7] * y + 1.0;
        ((h[0] * x + h[1] * y + h[2]) / w, (h[3] * x + h[4] * y + h[5]) / w)
    }
}

/// Gauss with row exchange.
fn solve(mut rows: [[f64; 9]; 8]) -> Option<[f64; 8]> {
    for column in 0..8 {
        let pivot =
            (column..8).max_by(|a, b| rows[*a][column].abs().total_cmp(&rows[*b][column].abs()))?;
        if rows[pivot][column].abs() < 1e-9 {
            return None;
        }
        rows.swap(column, pivot);
        let head = rows[column];
        for (at, row) in rows.iter_mut().enumerate() {
            if at != column {
                let by = row[column] / head[column];
                for (cell, above) in row.iter_mut().zip(head) {
                    *cell -= by * above;
                }
            }
        }
    }
    let mut solved = [0.0; 8];
    for (at, row) in rows.iter().enumerate() {
        solved[at] = row[8] / row[at];
    }
    Some(solved)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn four_points_fix_the_map_and_a_line_does_not() {
        let page = [(0.0, 0.0), (10.0, 0.0), (10.0, 20.0), (0.0, 20.0)];
        let picture = [(3.0, 4.0), (14.0, 5.0), (13.0, 27.0), (1.0, 25.0)];
        let map = Homography::of(page, picture).unwrap();
        for ((x, y), (u, v)) in page.into_iter().zip(picture) {
            let (a, b) = map.at(x, y);
            assert!((a - u).abs() < 1e-9 && (b - v).abs() < 1e-9, "{a} {b}");
        }
        // A pure perspective of known terms: u = x / (1 + x/100).
        let seen = page.map(|(x, y)| (x / (1.0 + x / 100.0), y / (1.0 + x / 100.0)));
        let (u, _) = Homography::of(page, seen).unwrap().at(5.0, 7.0);
        assert!((u - 5.0 / 1.05).abs() < 1e-9);
        let line = [(0.0, 0.0), (1.0, 1.0), (2.0, 2.0), (3.0, 3.0)];
        assert!(Homography::of(line, picture).is_none());
    }
}
