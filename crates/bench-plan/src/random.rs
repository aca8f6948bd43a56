//! Random places by seed: SplitMix64 (G. L. Steele, D. Lea, C. H. Flood, OOPSLA 2014), then a triangle by its area.

use geometry::{Mesh, Point};

/// The generator; the number is its seed.
pub struct Random(pub u64);

impl Random {
    /// The next 64 bits.
    pub fn draw(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From 0 up to and without 1.
    pub fn unit(&mut self) -> f64 {
        (self.draw() >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// `count` places spread evenly over the floor.
pub fn places(mesh: &Mesh, count: usize, random: &mut Random) -> Vec<Point> {
    let mut sums = Vec::with_capacity(mesh.triangles.len());
    let mut sum = 0.0;
    for t in 0..mesh.triangles.len() {
        sum += mesh.triangle_area(t);
        sums.push(sum);
    }
    (0..count)
        .map(|_| {
            let at = random.unit() * sum;
            let t = sums.partition_point(|&s| s <= at).min(sums.len() - 1);
            let [a, b, c] = mesh.corners(t);
            let (mut u, mut v) = (random.unit(), random.unit());
            if u + v > 1.0 {
                (u, v) = (1.0 - u, 1.0 - v);
            }
            Point::new(
                a.x + u * (b.x - a.x) + v * (c.x - a.x),
                a.y + u * (b.y - a.y) + v * (c.y - a.y),
            )
        })
        .collect()
}
