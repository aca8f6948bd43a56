//! The QR code of a sheet (ISO/IEC 18004), drawn by `fast_qr`.

use fast_qr::qr::QRBuilder;
use fast_qr::{ECL, Mode};

/// Modules of white around a code (ISO/IEC 18004 asks for four).
pub(crate) const QUIET: usize = 4;

/// The dark and light modules of a code, without its quiet zone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Modules {
    /// How many on each side.
    pub side: usize,
    dark: Vec<bool>,
}

impl Modules {
    /// Whether a module is dark.
    pub fn is_dark(&self, column: usize, row: usize) -> bool {
        self.dark[row * self.side + column]
    }

    /// The code as an SVG picture with its quiet zone.
    pub fn to_svg(&self) -> String {
        let side = self.side + 2 * QUIET;
        let mut path = String::new();
        for row in 0..self.side {
            let mut column = 0;
            while column < self.side {
                let run = (column..self.side).take_while(|c| self.is_dark(*c, row)).count();
                if run > 0 {
                    let (x, y) = (column + QUIET, row + QUIET);
                    path.push_str(&format!("M{x} {y}h{run}v1h-{run}z"));
                }
                column += run.max(1);
            }
        }
        format!(
            r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {side} {side}" shape-rendering="crispEdges"><path d="{path}" fill="#000"/></svg>"##
        )
    }
}

/// The modules of a text in capitals, digits and `$%*+-./:`, at 15 % recovery. None if it is too long
/// for any code.
pub fn modules(text: &str) -> Option<Modules> {
    let code = QRBuilder::new(text).ecl(ECL::M).mode(Mode::Alphanumeric).build().ok()?;
    let side = code.size;
    let dark = (0..side * side).map(|at| code[at / side][at % side].value()).collect();
    Some(Modules { side, dark })
}
