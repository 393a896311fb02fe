//! Water in soils, and what stops roots: flooding, ponding and wet layers month by month,
//! and layers that roots do not pass. In come soils by key; they go out with these.

use std::collections::{BTreeMap, BTreeSet};

use super::soils::SoilReading;
use super::tables::{key_text, number};
use crate::project::SurveyTable;
use crate::soil::SoilFactor;

impl SoilReading<'_> {
    /// Flooding, ponding and the water table, month by month.
    pub(super) fn months(&mut self) -> Option<()> {
        let own = |column| {
            self.survey
                .columns
                .column(SurveyTable::Components, column)
                .is_none()
        };
        let drawn = self.drawn;
        let frequencies = (drawn.any(&[SoilFactor::Flooding]) && own("flooding"))
            || (drawn.any(&[SoilFactor::Ponding]) && own("ponding"));
        let wanted = frequencies || (drawn.any(&[SoilFactor::WaterTable]) && own("water_table_cm"));
        if !wanted && !drawn.any(&[SoilFactor::Moisture]) {
            return Some(());
        }
        let soils = &self.components;
        let rows = self.tables.rows(
            SurveyTable::Months,
            &["component", "month", "flooding", "ponding"],
            &["component"],
            wanted,
            self.findings,
            |row| key_text(&row[0]).is_some_and(|key| soils.contains_key(&key)),
        );
        let Some(rows) = rows else {
            return (!wanted).then_some(());
        };
        let mut soil_of_month: BTreeMap<String, String> = BTreeMap::new();
        let mut with_months: BTreeSet<String> = BTreeSet::new();
        for row in rows.rows {
            let Some(key) = key_text(&row[0]) else { continue };
            let flooding = self.class(SoilFactor::Flooding, &row[2]);
            let ponding = self.class(SoilFactor::Ponding, &row[3]);
            if let Some(component) = self.components.get_mut(&key) {
                // The most frequent of all months; a month without a word says nothing.
                component.flooding = component.flooding.max(flooding);
                component.ponding = component.ponding.max(ponding);
            }
            if let Some(month) = key_text(&row[1]) {
                soil_of_month.insert(month, key.clone());
            }
            with_months.insert(key);
        }
        let water_wanted = drawn.any(&[SoilFactor::WaterTable]) && own("water_table_cm");
        let rows = self.tables.rows(
            SurveyTable::WetLayers,
            &["month", "top_cm", "status"],
            &["month", "top_cm"],
            water_wanted,
            self.findings,
            |row| key_text(&row[0]).is_some_and(|month| soil_of_month.contains_key(&month)),
        );
        let Some(rows) = rows else {
            return (!water_wanted).then_some(());
        };
        // Months are told and none of them is wet, as far down as was looked.
        for key in &with_months {
            if let Some(component) = self.components.get_mut(key) {
                component.water_table_cm = component.water_table_cm.or(Some(f64::INFINITY));
            }
        }
        for row in rows.rows {
            let wet = match key_text(&row[2]) {
                Some(status) => status.eq_ignore_ascii_case("wet"),
                None => !rows.has[2],
            };
            let (Some(month), Some(top_cm)) = (key_text(&row[0]), number(&row[1])) else {
                continue;
            };
            let component = soil_of_month.get(&month);
            if let Some(component) = component
                .and_then(|key| self.components.get_mut(key))
                .filter(|_| wet)
            {
                let known = component.water_table_cm.unwrap_or(f64::INFINITY);
                component.water_table_cm = Some(known.min(top_cm));
            }
        }
        Some(())
    }

    /// Depths to what stops roots.
    pub(super) fn restrictions(&mut self) -> Option<()> {
        let own = self
            .survey
            .columns
            .column(SurveyTable::Components, "root_depth_cm");
        let wanted = self.drawn.any(&[SoilFactor::RootDepth]) && own.is_none();
        let soils = &self.components;
        let rows = self.tables.rows(
            SurveyTable::Restrictions,
            &["component", "top_cm"],
            &["component", "top_cm"],
            wanted,
            self.findings,
            |row| key_text(&row[0]).is_some_and(|key| soils.contains_key(&key)),
        );
        let Some(rows) = rows else {
            return (!wanted).then_some(());
        };
        for component in self.components.values_mut() {
            // A soil that was dug and has nothing that stops roots.
            if !component.horizons.is_empty() {
                component.root_depth_cm = component.root_depth_cm.or(Some(f64::INFINITY));
            }
        }
        for row in rows.rows {
            let (Some(key), Some(top_cm)) = (key_text(&row[0]), number(&row[1])) else {
                continue;
            };
            if let Some(component) = self.components.get_mut(&key) {
                let known = component.root_depth_cm.unwrap_or(f64::INFINITY);
                component.root_depth_cm = Some(known.min(top_cm));
            }
        }
        Some(())
    }
}
