//! Below the log: how to tick, and the twelve classes of what may be found.

use super::{Drawing, Style};
use crate::code::Grid;
use crate::filled::class_number;
use record::HazardClass;
use words::{Lang, codes, sheet};

/// Room for it.
pub(super) const LEGEND_HEIGHT: i32 = 210;
/// Classes side by side.
const COLUMNS: i32 = 4;

impl Drawing<'_> {
    pub(super) fn legend(&mut self, grid: &Grid) {
        let (left, right) = self.edges();
        let wide = right - left;
        let y = self.size.extent().1 - 150 - LEGEND_HEIGHT + 14;
        let how = match grid.step_s {
            Some(_) => sheet::how_to_tick(self.lang),
            None => sheet::how_to_tick_blank(self.lang),
        };
        self.text((left, y, wide, 68), Style::plain(80), how);
        let each = wide / COLUMNS;
        for class in HazardClass::ALL {
            let place = class_number(class) as i32 - 1;
            let (column, row) = (place / 3, place % 3);
            let at = (left + each * column, y + 74 + 35 * row, each - 10, 34);
            let words = format!("{}  {}", class_number(class), class_words(class, self.lang));
            self.text(at, Style::plain(75), words);
        }
    }
}

pub(super) fn class_words(class: HazardClass, lang: Lang) -> &'static str {
    match class {
        HazardClass::Fire => codes::hazard_class_fire(lang),
        HazardClass::Exits => codes::hazard_class_exits(lang),
        HazardClass::FireDoors => codes::hazard_class_fire_doors(lang),
        HazardClass::Protection => codes::hazard_class_protection(lang),
        HazardClass::Access => codes::hazard_class_access(lang),
        HazardClass::HotWork => codes::hazard_class_hot_work(lang),
        HazardClass::Rubbish => codes::hazard_class_rubbish(lang),
        HazardClass::Flammables => codes::hazard_class_flammables(lang),
        HazardClass::Heating => codes::hazard_class_heating(lang),
        HazardClass::Electrical => codes::hazard_class_electrical(lang),
        HazardClass::Batteries => codes::hazard_class_batteries(lang),
        HazardClass::People => codes::hazard_class_people(lang),
    }
}
