//! One layer with one attribute, read in the CRS that is asked for.

use super::error::Found;
use crate::gis::{self, Features, FieldValue, VectorQuery};
use crate::grid::{Crs, Extent};
use crate::plural::{counted, one_or_many};
use crate::project::LayerRef;

/// Whole numbers up to this are exact.
const EXACT: f64 = 9_007_199_254_740_992.0;

/// A layer of the project and its attribute.
#[derive(Clone, Copy)]
pub(super) struct Wanted<'a> {
    /// The key of the project that names it.
    pub key: &'a str,
    pub layer: &'a LayerRef,
    pub attribute: &'a str,
}

impl Wanted<'_> {
    /// The features, only those near an extent in `to` where one is given. What is odd
    /// about them is told.
    pub fn read(&self, to: &Crs, near: Option<Extent>, found: &mut Found) -> Option<Features> {
        let features = self.read_quietly(to, near, found)?;
        for doubt in &features.doubts {
            found.warn(self.key, doubt);
        }
        let lost = features.broken.len();
        if lost > 0 {
            found.warn(
                self.key,
                &format!(
                    "{} cannot be used and {} left out",
                    counted(lost, "feature"),
                    one_or_many(lost, "is", "are")
                ),
            );
        }
        if features.transform.ballpark {
            found.warn(self.key, "its coordinates come to the grid only in the ballpark");
        }
        Some(features)
    }

    /// The keys of all features, wherever they lie.
    pub fn all_keys(&self, found: &mut Found) -> Option<Vec<Option<String>>> {
        let own = self.own_crs(found)?;
        let features = self.read_quietly(&own, None, found)?;
        Some(
            features
                .items
                .iter()
                .map(|feature| key_of(&feature.fields))
                .collect(),
        )
    }

    fn read_quietly(&self, to: &Crs, near: Option<Extent>, found: &mut Found) -> Option<Features> {
        let given = match &self.layer.crs {
            None => None,
            Some(given) => Some(found.take(self.key, gis::crs_from_text(given))?),
        };
        let query = VectorQuery {
            path: &self.layer.path,
            layer: self.layer.sublayer.as_deref(),
            filter: self.layer.filter.as_deref(),
            fields: &[self.attribute],
            crs_override: given.as_ref(),
            to,
            within: near.map(|near| (near, to)),
        };
        found.take(self.key, gis::read_features(&query))
    }

    /// The layer's own CRS, so that features far from the grid need not be brought over.
    fn own_crs(&self, found: &mut Found) -> Option<Crs> {
        if let Some(given) = &self.layer.crs {
            return found.take(self.key, gis::crs_from_text(given));
        }
        let file = found.take(self.key, gis::inspect_vector(&self.layer.path))?;
        let wanted = self.layer.sublayer.as_ref();
        let own = file
            .layers
            .iter()
            .find(|layer| wanted.is_none_or(|wanted| layer.name == *wanted))
            .and_then(|layer| layer.crs.clone());
        match own {
            Some(own) => Some(own),
            // Reading tells what is wrong with it.
            None => found.take(self.key, gis::lon_lat()),
        }
    }
}

/// The one attribute that was read, as text: keys of whole numbers without decimals.
///
/// # Missing
/// No value.
pub(super) fn key_of(fields: &[FieldValue]) -> Option<String> {
    match fields.first()? {
        FieldValue::Missing => None,
        FieldValue::Text(text) => Some(text.trim().to_owned()).filter(|text| !text.is_empty()),
        FieldValue::Number(number) if number.fract() == 0.0 && number.abs() < EXACT => {
            Some(format!("{number:.0}"))
        }
        FieldValue::Number(number) => Some(number.to_string()),
    }
}
