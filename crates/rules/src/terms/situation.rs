//! The facts against the conditions of values.

use super::Facts;
use super::facts::{Area, HotWork, Length, Order, Outage};
use crate::codes::{Stage, System};
use crate::standards::{Demand, InForce, Missing, Truth, When};

/// The facts beside what is in force.
pub(super) struct Situation<'a> {
    pub(super) facts: &'a Facts,
    pub(super) in_force: &'a [InForce<'a>],
}

/// What a condition is asked about beside the site as a whole.
#[derive(Clone, Copy, Default)]
pub(super) struct Focus<'a> {
    pub(super) outage: Option<System>,
    pub(super) hot_work: Option<&'a HotWork>,
}

/// A value, and whether its condition holds.
pub(super) struct Judged<'a> {
    pub(super) found: InForce<'a>,
    pub(super) truth: Truth,
}

impl<'a> Situation<'a> {
    /// The values about `demand` whose condition is not refuted. A value marked `otherwise` counts where no other value of
    /// its file and profile does.
    pub(super) fn values(&self, demand: Demand, focus: Focus<'_>) -> Vec<Judged<'a>> {
        let all = self.judged(demand, focus);
        let mut kept: Vec<Judged<'a>> = Vec::new();
        for judged in &all {
            let rival = |other: &Judged<'_>| {
                !other.found.value.otherwise
                    && other.truth != Truth::No
                    && other.found.profile == judged.found.profile
                    && std::ptr::eq(other.found.file, judged.found.file)
            };
            let displaced = judged.found.value.otherwise && all.iter().any(rival);
            if judged.truth != Truth::No && !displaced {
                kept.push(Judged { found: judged.found, truth: judged.truth });
            }
        }
        kept
    }

    /// Every value about `demand` with its truth, the refuted ones too.
    pub(super) fn judged(&self, demand: Demand, focus: Focus<'_>) -> Vec<Judged<'a>> {
        let of = self.in_force.iter().filter(|found| found.demand() == demand);
        of.map(|found| Judged { found: *found, truth: self.truth(&found.value.when, focus) })
            .collect()
    }

    pub(super) fn truth(&self, when: &When, focus: Focus<'_>) -> Truth {
        self.of_system(when, focus)
            .and(self.of_building(when))
            .and(self.of_construction(when))
            .and(self.of_hot_work(when, focus))
    }

    fn of_system(&self, when: &When, focus: Focus<'_>) -> Truth {
        if when.systems.is_empty() {
            return Truth::Yes;
        }
        let named = |system: System| when.systems.contains(&system);
        let any = match focus.outage {
            Some(system) => named(system),
            None => self.out_now().any(|outage| named(outage.system)),
        };
        if any { Truth::Yes } else { Truth::No }
    }

    fn of_building(&self, when: &When) -> Truth {
        let building = &self.facts.building;
        let mut truth = self.of_occupancy(&when.occupancy);
        let flags = [
            (when.sleeping, self.facts.sleeping(), "building.sleeping"),
            (when.occupied, self.facts.occupied(), "building.open"),
            (when.outdoor, building.outdoor, "building.outdoor"),
            (when.worship, building.worship, "building.worship"),
            (when.sprinklered, building.sprinklered, "building.sprinklered"),
        ];
        for (wanted, stated, key) in flags {
            if let Some(wanted) = wanted {
                truth = truth.and(Truth::of(stated, Missing(key)).is(wanted));
            }
        }
        if let Some(wanted) = when.multistorey {
            // Unstated is read as several: the stricter reading.
            let several = building.storeys.is_none_or(|storeys| storeys > 1);
            truth = truth.and(Truth::of(Some(several), Missing("building.storeys")).is(wanted));
        }
        if let Some(limit) = when.crowd_at_most {
            truth = truth.and(Truth::of(
                building.crowd.map(|crowd| crowd <= limit),
                Missing("building.crowd"),
            ));
        }
        if let Some(limit) = when.crowd_over {
            truth = truth.and(Truth::of(
                building.crowd.map(|crowd| crowd > limit),
                Missing("building.crowd"),
            ));
        }
        truth
    }

    fn of_occupancy(&self, wanted: &[String]) -> Truth {
        if wanted.is_empty() {
            return Truth::Yes;
        }
        let stated = &self.facts.building.occupancy;
        let holds = |group: &String| {
            wanted
                .iter()
                .any(|want| group == want || want.len() == 1 && group.starts_with(want.as_str()))
        };
        // A bare letter does not say which of its groups it is.
        let maybe = |group: &String| {
            group.len() == 1 && wanted.iter().any(|want| want.starts_with(group.as_str()))
        };
        if stated.iter().any(holds) {
            Truth::Yes
        } else if stated.is_empty() || stated.iter().any(maybe) {
            Truth::Unknown(Missing("building.occupancy"))
        } else {
            Truth::No
        }
    }

    fn of_construction(&self, when: &When) -> Truth {
        let site = self.facts.construction.as_ref();
        let mut truth = Truth::Yes;
        if let Some(wanted) = when.construction {
            truth = truth
                .and(Truth::of(Some(site.is_some()), Missing("construction.stage")).is(wanted));
        }
        if let Some(wanted) = when.outage {
            truth = truth.and(
                Truth::of(Some(self.out_now().next().is_some()), Missing("outage.expected_until"))
                    .is(wanted),
            );
        }
        if let Some(wanted) = when.hot_work {
            truth = truth.and(
                Truth::of(Some(!self.facts.hot_work.is_empty()), Missing("hot_work.last_spark"))
                    .is(wanted),
            );
        }
        if !when.stage.is_empty() {
            // The section speaks of building; a demolition says so by its stage.
            let stage = site.map(|site| site.stage.unwrap_or(Stage::New));
            truth = truth.and(Truth::of(
                stage.map(|stage| when.stage.contains(&stage)),
                Missing("construction.stage"),
            ));
        }
        if let Some(wanted) = when.hazardous {
            // Hot work that the facts state is a hazard of the works.
            let hazardous = site.and_then(|site| site.hazardous).unwrap_or(false)
                || !self.facts.hot_work.is_empty();
            truth = truth.and(Truth::of(Some(hazardous), Missing("construction.stage")).is(wanted));
        }
        if let Some(limit) = when.higher_than_ft {
            let height = site.and_then(|site| site.height).or(self.facts.building.height);
            let higher = height.map(|height| height > Length::from_ft(limit));
            truth = truth.and(Truth::of(higher, Missing("construction.height_m")));
        }
        if let Some(limit) = when.storey_area_over_ft2 {
            let area = site.and_then(|site| site.storey_area);
            let larger = area.map(|area| area > Area::from_ft2(limit));
            truth = truth.and(Truth::of(larger, Missing("construction.storey_area_m2")));
        }
        truth
    }

    fn of_hot_work(&self, when: &When, focus: Focus<'_>) -> Truth {
        let Some(work) = focus.hot_work else { return self.of_any_hot_work(when) };
        let mut truth = Truth::Yes;
        let near = |stated: Option<Length>, limit: i64| {
            stated.map(|stated| stated < Length::from_ft(limit))
        };
        if let Some(limit) = when.closer_than_ft {
            truth = truth
                .and(Truth::of(near(work.combustibles, limit), Missing("hot_work.combustibles_m")));
        }
        if let Some(limit) = when.opening_within_ft {
            let within = work.openings.map(|stated| stated <= Length::from_ft(limit));
            truth = truth.and(Truth::of(within, Missing("hot_work.openings_m")));
        }
        let flags = [
            (when.easily_ignited, work.easily_ignited, "hot_work.easily_ignited"),
            (when.metal_partition, work.metal_partition, "hot_work.metal_partition"),
            // A survey and an early release rest on something that was written: unstated is not done.
            (when.surveyed, work.surveyed.or(Some(false)), "hot_work.last_spark"),
            (when.one_sees_all, work.one_sees_all.or(Some(true)), "hot_work.last_spark"),
            (when.torch_roofing, work.torch_roofing.or(Some(false)), "hot_work.last_spark"),
            (when.impaired, Some(self.impaired(work)), "hot_work.impaired"),
            (when.during_outage, Some(self.any_out_during(work)), "hot_work.impaired"),
        ];
        for (wanted, stated, key) in flags {
            if let Some(wanted) = wanted {
                truth = truth.and(Truth::of(stated, Missing(key)).is(wanted));
            }
        }
        truth
    }

    /// Asked about the site as a whole, it holds where it does for any of the hot work.
    fn of_any_hot_work(&self, when: &When) -> Truth {
        if !when.speaks_of_hot_work() {
            return Truth::Yes;
        }
        let mut any = Truth::No;
        for work in &self.facts.hot_work {
            match self.of_hot_work(when, Focus { outage: None, hot_work: Some(work) }) {
                Truth::Yes => return Truth::Yes,
                Truth::Unknown(missing) => any = Truth::Unknown(missing),
                Truth::No => {}
            }
        }
        any
    }

    /// Whether sprinklers are out where the hot work is: as stated, or by an outage that meets it in time. Without water
    /// they are out as well.
    pub(super) fn impaired(&self, work: &HotWork) -> bool {
        let sprinklers =
            |outage: &Outage| matches!(outage.system, System::Sprinkler | System::WaterSupply);
        work.impaired == Some(true) || self.out_during(work).any(sprinklers)
    }

    fn any_out_during(&self, work: &HotWork) -> bool {
        work.impaired == Some(true) || self.out_during(work).next().is_some()
    }

    /// Outages that meet the hot work in time.
    fn out_during(&self, work: &HotWork) -> impl Iterator<Item = &'a Outage> + use<'a> {
        let begins = work.began.or(work.last_spark).unwrap_or(self.facts.at);
        let ends = work.last_spark.unwrap_or(begins.max(self.facts.at));
        self.facts
            .outages
            .iter()
            .filter(move |outage| outage.from <= ends && outage.to.is_none_or(|to| to >= begins))
    }

    /// Outages that have begun and, at the instant asked about, last. The instant of restoration still counts.
    pub(super) fn out_now(&self) -> impl Iterator<Item = &'a Outage> + use<'a> {
        let at = self.facts.at;
        self.facts
            .outages
            .iter()
            .filter(move |outage| outage.from <= at && outage.to.is_none_or(|to| at <= to))
    }

    /// Orders in force, in the order in which they were given.
    pub(super) fn orders(&self) -> Vec<&'a Order> {
        let mut orders: Vec<&Order> =
            self.facts.orders.iter().filter(|order| self.in_force_now(order)).collect();
        orders.sort_by_key(|order| order.at);
        orders
    }

    /// Given, and not ceased.
    pub(super) fn in_force_now(&self, order: &Order) -> bool {
        let at = self.facts.at;
        order.at.is_none_or(|given| given <= at) && order.until.is_none_or(|until| at < until)
    }
}
