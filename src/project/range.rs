//! `[range]`: where species are documented: a table of species by region, the polygons
//! of the regions, and points of known records.

use std::path::PathBuf;

use super::layer::{LayerRef, existing};
use super::table::Table;
use super::value::ABOVE_ZERO;
use crate::nearest::quoted;

/// Section `[range]`: which species are documented in which region.
///
/// Keys: `regions` (with `sublayer`, `filter`, `crs`), `key`, `table`, `table_species`,
/// `table_region`, `records`, `documented_only`, `reach_km`, `blurred`, `blur_m`.
#[derive(Debug, Clone, PartialEq)]
pub struct RangeSection {
    /// `regions`: polygons of counties, ecoregions or the like.
    pub regions: LayerRef,
    /// `key`: the attribute with the key of a region.
    pub key: String,
    /// `table`: delimited text, a row for each species and region.
    pub table: PathBuf,
    /// The path as the project file has it.
    pub table_as_written: String,
    /// `table_species`: the column with the id or name of the species.
    pub table_species: String,
    /// `table_region`: the column with the key of the region.
    pub table_region: String,
    /// `records`: points of known records.
    pub records: Option<RecordLayer>,
    /// `documented_only`: whether only species documented in a zone's regions are listed.
    pub documented_only: bool,
    /// `reach_km`: how far records are looked for.
    pub reach_km: f64,
    /// `blurred`: ids or names of species whose records are not to be found from the output.
    pub blurred: Vec<String>,
    /// `blur_m`: side of the squares to which their records are moved; given where there
    /// are any.
    pub blur_m: Option<f64>,
}

/// `records`: a layer of points, each a record of one species.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordLayer {
    /// `layer`, with `sublayer`, `filter`, `crs`.
    pub layer: LayerRef,
    /// `attribute`: the attribute with the id or name of the species.
    pub attribute: String,
}

/// How far records are looked for unless told otherwise.
const REACH_KM: f64 = 100.0;

impl RangeSection {
    pub(super) fn read(table: &Table) -> Option<RangeSection> {
        for needed in [&["regions"], &["key"], &["table"]] {
            table.require(needed);
        }
        let regions = LayerRef::read(table, "regions");
        let owned = |key: &'static str| table.text(key).map(|found| found.value.to_owned());
        let key = owned("key");
        let rows = table.text("table");
        let path = rows.as_ref().and_then(existing);
        let table_species = owned("table_species");
        let table_region = owned("table_region");
        let record_table = table.table("records");
        let records = record_table.as_ref().map(RecordLayer::read);
        let documented_only = table.flag("documented_only").is_some_and(|found| found.value);
        let reach_km = table
            .number("reach_km", ABOVE_ZERO)
            .map_or(REACH_KM, |found| found.value);
        let blur_m = table.number("blur_m", ABOVE_ZERO);
        let mut blurred: Vec<String> = Vec::new();
        for name in table.texts("blurred").map_or_else(Vec::new, |found| found.value) {
            if blurred.iter().any(|other| other == name.value) {
                let text = format!("{} stands in the list twice", quoted(name.value));
                name.spot.problem(text);
            } else {
                blurred.push(name.value.to_owned());
            }
        }
        match &blur_m {
            None if !blurred.is_empty() => table.require(&["blur_m"]),
            Some(blur) if blurred.is_empty() => {
                let text = "found a blur but no species to blur, needed their names in `blurred`";
                blur.spot.problem(text);
            }
            _ => {}
        }
        table.finish();
        let records = match records {
            Some(read) => Some(read?),
            None => None,
        };
        Some(RangeSection {
            regions: regions?,
            key: key?,
            table: path?,
            table_as_written: rows?.value.to_owned(),
            table_species: table_species.unwrap_or_else(|| "species".to_owned()),
            table_region: table_region.unwrap_or_else(|| "region".to_owned()),
            records,
            documented_only,
            reach_km,
            blurred,
            blur_m: blur_m.map(|found| found.value),
        })
    }

    /// The layers, with what each is for.
    pub(super) fn layers(&self) -> impl Iterator<Item = (String, &LayerRef)> {
        let records = self.records.as_ref();
        let records = records.map(|records| ("range.records".to_owned(), &records.layer));
        [("range.regions".to_owned(), &self.regions)]
            .into_iter()
            .chain(records)
    }
}

impl RecordLayer {
    fn read(table: &Table) -> Option<RecordLayer> {
        table.require(&["layer"]);
        table.require(&["attribute"]);
        let layer = LayerRef::read(table, "layer");
        let attribute = table.text("attribute");
        table.finish();
        Some(RecordLayer {
            layer: layer?,
            attribute: attribute?.value.to_owned(),
        })
    }
}

#[cfg(test)]
mod tests {
    use crate::project::Project;
    use crate::project::tests::{problems_of, site};

    const HEAD: &str = r#"
[area]
boundary = "boundary.geojson"
[catalogue]
folder = "catalogue"
[factors.drainage]
layer = "soils.gpkg"
attribute = "d"
[range]
regions = "soils.gpkg"
key = "d"
table = "catalogue/species.csv"
"#;

    #[test]
    fn a_short_section_has_defaults() {
        let folder = site();
        let project = Project::parse(HEAD, &folder.path().join("project.toml")).unwrap();
        let layers: Vec<String> = project.layers().map(|(name, _)| name).collect();
        assert!(layers.contains(&"range.regions".to_owned()), "{layers:?}");
        let range = project.range.unwrap();
        assert_eq!(
            (range.table_species.as_str(), range.table_region.as_str()),
            ("species", "region")
        );
        assert!(!range.documented_only && range.records.is_none() && range.blur_m.is_none());
    }

    #[test]
    fn every_fault_of_the_section_is_told() {
        let folder = site();
        let told = |more: &str| -> Vec<String> {
            let problems = problems_of(&format!("{HEAD}{more}"), folder.path());
            let texts = problems.iter();
            texts
                .map(|problem| format!("{}: {}", problem.key, problem.text))
                .collect()
        };
        let wrong = "reach_km = 0\nblurred = [\"a\", \"a\"]\nrecords = { layr = \"soils.gpkg\" }\n";
        let problems = told(wrong).join("\n");
        for part in [
            "range.reach_km",
            "stands in the list twice",
            "range.blur_m",
            "range.records.attribute",
            "layr",
        ] {
            assert!(problems.contains(part), "{part}: {problems}");
        }
        let problems = told("blur_m = 500\n");
        assert!(
            problems.len() == 1 && problems[0].contains("`blurred`"),
            "{problems:?}"
        );
    }
}
