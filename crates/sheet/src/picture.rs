//! A grey picture, as a camera or a scanner gives it after decoding.

/// A grey picture: 0 is black, 255 white, rows from above.
#[derive(Clone, PartialEq, Eq)]
pub struct GrayPicture {
    width: usize,
    height: usize,
    grey: Vec<u8>,
}

impl std::fmt::Debug for GrayPicture {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "GrayPicture({} x {})", self.width, self.height)
    }
}

impl GrayPicture {
    /// Takes the pixels of a picture; none if their number is not width times height.
    pub fn new(width: usize, height: usize, grey: Vec<u8>) -> Option<GrayPicture> {
        let fits = width.checked_mul(height) == Some(grey.len());
        fits.then_some(GrayPicture { width, height, grey })
    }

    /// A picture of one tone.
    pub fn plain(width: usize, height: usize, tone: u8) -> GrayPicture {
        GrayPicture { width, height, grey: vec![tone; width * height] }
    }

    /// Its width in pixels.
    pub fn width(&self) -> usize {
        self.width
    }

    /// Its height in pixels.
    pub fn height(&self) -> usize {
        self.height
    }

    /// The pixels, rows from above.
    pub fn pixels(&self) -> &[u8] {
        &self.grey
    }

    /// One pixel; outside, the nearest one inside.
    pub fn at(&self, x: i64, y: i64) -> u8 {
        let x = x.clamp(0, self.width as i64 - 1) as usize;
        let y = y.clamp(0, self.height as i64 - 1) as usize;
        self.grey[y * self.width + x]
    }

    /// Sets one pixel; outside, nothing.
    pub fn set(&mut self, x: usize, y: usize, tone: u8) {
        if x < self.width && y < self.height {
            self.grey[y * self.width + x] = tone;
        }
    }

    /// The tone between pixels, bilinear; pixel middles are at halves.
    pub(crate) fn between(&self, x: f64, y: f64) -> f64 {
        let (x, y) = (x - 0.5, y - 0.5);
        let (left, above) = (x.floor(), y.floor());
        let (fx, fy) = (x - left, y - above);
        let (left, above) = (left as i64, above as i64);
        let tone = |dx: i64, dy: i64| f64::from(self.at(left + dx, above + dy));
        let upper = tone(0, 0) * (1.0 - fx) + tone(1, 0) * fx;
        let lower = tone(0, 1) * (1.0 - fx) + tone(1, 1) * fx;
        upper * (1.0 - fy) + lower * fy
    }

    /// Smaller by a whole factor, each pixel the mean of its square.
    pub(crate) fn shrunk(&self, by: usize) -> GrayPicture {
        if by <= 1 {
            return self.clone();
        }
        let (width, height) = (self.width / by, self.height / by);
        let mut grey = Vec::with_capacity(width * height);
        for y in 0..height {
            for x in 0..width {
                let mut sum = 0usize;
                for row in y * by..(y + 1) * by {
                    let from = row * self.width + x * by;
                    sum +=
                        self.grey[from..from + by].iter().map(|p| usize::from(*p)).sum::<usize>();
                }
                grey.push((sum / (by * by)) as u8);
            }
        }
        GrayPicture { width, height, grey }
    }
}
