//! Where the values of a factor come from: exactly one way a factor, with the
//! keys that belong to it. Opens no layer.

use super::sun::{self, SunSource};
use super::terrain::{self, TerrainSource};
use super::unit::UnitConversion;
use crate::factor::{Factor, Kind, Unit};
use crate::nearest::listed;
use crate::project::layer::LayerRef;
use crate::project::soil_survey::SoilSurvey;
use crate::project::table::Table;
use crate::project::value::{ABOVE_ZERO, ANY};
use crate::soil::SoilFactor;

/// How the ground's values of a factor come about.
#[derive(Debug, Clone, PartialEq)]
pub enum FactorSource {
    /// `layer` and `attribute`: the attribute of the polygon that owns the cell.
    Polygons {
        /// The polygon layer.
        layer: LayerRef,
        /// The attribute with the value, word or code.
        attribute: String,
        /// `nodata`: the number that stands for no value.
        nodata: Option<f64>,
        /// The unit of the attribute, where it is not the factor's own.
        unit: Option<UnitConversion>,
    },
    /// `layer` without `attribute`: the cells of a raster.
    Raster {
        /// The raster.
        layer: LayerRef,
        /// `band`: counted from 1; 1 unless given.
        band: usize,
        /// `nodata`: goes before the file's own.
        nodata: Option<f64>,
        /// The unit of the cells, where it is not the factor's own.
        unit: Option<UnitConversion>,
    },
    /// `elevation`: the slope is computed (Horn 1981).
    Slope {
        /// The elevation model.
        elevation: LayerRef,
        /// `band`: counted from 1; 1 unless given.
        band: usize,
        /// `nodata`: goes before the file's own.
        nodata: Option<f64>,
        /// `vertical_unit`, as a conversion to metres.
        ///
        /// # Missing
        /// The file's own; asked for when the file has none.
        vertical_unit: Option<UnitConversion>,
    },
    /// `elevation` of a factor of sunlight: hours of direct sun are computed.
    Sun(Box<SunSource>),
    /// `elevation` of another factor of the ground's shape.
    Terrain(Box<TerrainSource>),
    /// `distance_to`: the distance to the nearest line or polygon.
    Distance {
        /// The layer of lines or polygons.
        layer: LayerRef,
        /// `reach_m`: distances are exact up to here; farther is "beyond reach".
        reach_m: f64,
    },
    /// `from = "soil survey"`: what `[soil_survey]` tells of it.
    SoilSurvey {
        /// The polygons of the survey.
        layer: LayerRef,
        /// What is drawn from it.
        of: SoilFactor,
    },
}

/// Whether a project has a soil survey.
#[derive(Debug, Clone, Copy)]
pub enum SurveyGiven<'a> {
    /// It has none.
    No,
    /// It has one that cannot be read, which is told already.
    Broken,
    /// It has this one.
    Yes(&'a SoilSurvey),
}

impl FactorSource {
    /// The layer, whatever is done with it.
    #[must_use]
    pub fn layer(&self) -> &LayerRef {
        match self {
            FactorSource::Polygons { layer, .. }
            | FactorSource::Raster { layer, .. }
            | FactorSource::Slope { elevation: layer, .. }
            | FactorSource::Distance { layer, .. }
            | FactorSource::SoilSurvey { layer, .. } => layer,
            FactorSource::Sun(source) => &source.elevation,
            FactorSource::Terrain(source) => &source.elevation,
        }
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Way {
    Polygons,
    Raster,
    Slope,
    Sun,
    Terrain,
    Distance,
    SoilSurvey,
}

impl Way {
    fn words(self) -> &'static str {
        match self {
            Way::Polygons => "polygons (a `layer` with `attribute`)",
            Way::Raster => "a raster (a `layer` without `attribute`)",
            Way::Slope => "a slope computed from `elevation`",
            Way::Sun => "hours of sun computed from `elevation`",
            Way::Terrain => "a shape of the ground computed from `elevation`",
            Way::Distance => "a distance (`distance_to`)",
            Way::SoilSurvey => "a soil survey (`from = \"soil survey\"`)",
        }
    }
}

/// Which keys belong to which way.
const KEYS: [(&str, &[Way]); 24] = [
    ("attribute", &[Way::Polygons]),
    ("sublayer", &[Way::Polygons, Way::Distance]),
    ("filter", &[Way::Polygons, Way::Distance]),
    ("band", &[Way::Raster, Way::Slope, Way::Sun, Way::Terrain]),
    (
        "nodata",
        &[Way::Polygons, Way::Raster, Way::Slope, Way::Sun, Way::Terrain],
    ),
    ("vertical_unit", &[Way::Slope, Way::Sun, Way::Terrain]),
    ("reach_m", &[Way::Sun, Way::Distance]),
    ("words", &[Way::Polygons, Way::Raster, Way::SoilSurvey]),
    ("cuts", &[Way::Polygons, Way::Raster, Way::Distance]),
    ("equation", &[Way::Terrain]),
    ("catchment_m", &[Way::Terrain]),
    ("surface", &[Way::Sun]),
    ("obstacles", &[Way::Sun]),
    ("canopy", &[Way::Sun]),
    ("leaf_area", &[Way::Sun]),
    ("extinction", &[Way::Sun]),
    ("foliage_left", &[Way::Sun]),
    ("low_sun", &[Way::Sun]),
    ("season_from", &[Way::Sun]),
    ("season_to", &[Way::Sun]),
    ("directions", &[Way::Sun]),
    ("least_irradiance", &[Way::Sun]),
    ("least_sun_height", &[Way::Sun]),
    ("unknown_heights", &[Way::Sun]),
];

pub(super) fn read(table: &Table, factor: Option<&Factor>, survey: SurveyGiven) -> Option<FactorSource> {
    let way = way(table, factor);
    for (key, ways) in KEYS {
        if let (Some(spot), Some(way)) = (table.spot_of(key), way)
            && !ways.contains(&way)
        {
            let places: Vec<&str> = ways.iter().map(|way| way.words()).collect();
            spot.problem(format!(
                "found `{key}` with {}, needed {}",
                way.words(),
                places.join(" or ")
            ));
        }
    }
    // Everything is read before anything is given up, so that all problems show.
    let key = match way {
        Some(Way::Polygons | Way::Raster) => Some("layer"),
        Some(Way::Slope | Way::Sun | Way::Terrain) => Some("elevation"),
        Some(Way::Distance) => Some("distance_to"),
        Some(Way::SoilSurvey) | None => None,
    };
    let layer = key.and_then(|key| LayerRef::read(table, key));
    for key in ["crs", "unit"] {
        table.spot_of(key);
    }
    let attribute = table.text("attribute").map(|found| found.value.to_owned());
    let band = table
        .whole("band", 1..=65_535)
        .and_then(|found| usize::try_from(found.value).ok())
        .unwrap_or(1);
    let nodata = table.number("nodata", ANY).map(|found| found.value);
    let unit = factor.and_then(|factor| unit(table, factor, way));
    let vertical_unit = UnitConversion::read(table, "vertical_unit", Unit::Metre);
    let reach_m = table.number("reach_m", ABOVE_ZERO).map(|found| found.value);
    if way == Some(Way::Sun) {
        let leafless = factor.is_some_and(|factor| factor.id == "spring_sun_hours");
        let source = sun::read(table, leafless, layer, band, nodata, vertical_unit)?;
        return Some(FactorSource::Sun(Box::new(source)));
    }
    let factor = factor?;
    if way == Some(Way::Terrain) {
        let source = terrain::read(table, factor, layer, band, nodata, vertical_unit)?;
        return Some(FactorSource::Terrain(Box::new(source)));
    }
    check_kind(table, factor, way?);
    match way? {
        Way::Sun | Way::Terrain => None,
        Way::Polygons => Some(FactorSource::Polygons {
            layer: layer?,
            attribute: attribute?,
            nodata,
            unit,
        }),
        Way::Raster => Some(FactorSource::Raster {
            layer: layer?,
            band,
            nodata,
            unit,
        }),
        Way::Slope => Some(FactorSource::Slope {
            elevation: layer?,
            band,
            nodata,
            vertical_unit,
        }),
        Way::Distance => Some(FactorSource::Distance {
            layer: layer?,
            reach_m: reach_m.or_else(|| last_cut(table))?,
        }),
        Way::SoilSurvey => of_survey(table, factor, survey),
    }
}

static WAYS: [&str; 4] = ["layer", "elevation", "distance_to", "from"];

/// A factor that a soil survey tells.
fn of_survey(table: &Table, factor: &Factor, survey: SurveyGiven) -> Option<FactorSource> {
    let from = table.word("from", &[("soil survey", ())])?;
    let of = SoilFactor::of_id(&factor.id);
    if of.is_none() {
        let told: Vec<&str> = SoilFactor::ALL.into_iter().map(SoilFactor::id).collect();
        from.spot.problem(format!(
            "found `{}`, which no soil survey tells, needed one of {}",
            factor.id,
            listed(&told)
        ));
    }
    match survey {
        SurveyGiven::Yes(survey) => Some(FactorSource::SoilSurvey {
            layer: survey.polygons.clone(),
            of: of?,
        }),
        SurveyGiven::Broken => None,
        SurveyGiven::No => {
            from.spot
                .problem("found no soil survey in this project, needed a table `[soil_survey]`");
            None
        }
    }
}

fn way(table: &Table, factor: Option<&Factor>) -> Option<Way> {
    let mut given = WAYS
        .iter()
        .copied()
        .filter_map(|key| table.spot_of(key).map(|spot| (key, spot)));
    // Asked for here, so that it is never called an unknown key.
    let attribute = table.spot_of("attribute");
    let Some((first, _)) = given.next() else {
        // The key may only be misspelt: then `finish` tells that and no more.
        table.require(&WAYS);
        return None;
    };
    let mut one = true;
    for (other, spot) in given {
        spot.problem(format!(
            "found `{other}` beside `{first}`, needed only one way to get the factor"
        ));
        one = false;
    }
    let way = match first {
        "layer" if attribute.is_some() => Way::Polygons,
        "layer" => Way::Raster,
        "elevation" => match factor.map(|factor| factor.id.as_str()) {
            Some("sun_hours" | "spring_sun_hours") => Way::Sun,
            Some("aspect" | "heat_load" | "radiation" | "wetness_index") => Way::Terrain,
            _ => Way::Slope,
        },
        "from" => Way::SoilSurvey,
        _ => Way::Distance,
    };
    one.then_some(way)
}

fn check_kind(table: &Table, factor: &Factor, way: Way) {
    let classes = factor.kind.classes().is_some();
    if way == Way::Slope
        && factor.id != "slope"
        && let Some(spot) = table.spot_of("elevation")
    {
        spot.problem(format!(
            "found `elevation` for `{}`, needed one of the factors that are computed from it: `slope`, `aspect`, `heat_load`, `radiation`, `wetness_index`, `sun_hours`, `spring_sun_hours`",
            factor.id
        ));
    }
    if way != Way::Distance {
        return;
    }
    let Some(spot) = table.spot_of("distance_to") else {
        return;
    };
    match factor.kind {
        Kind::Classes { .. } if table.spot_of("cuts").is_none() => spot.problem(format!(
            "found a distance for the classes of `{}`, needed `cuts` that turn it into classes",
            factor.id
        )),
        Kind::Measured(unit) if unit != Unit::Metre => spot.problem(format!(
            "found a distance for `{}`, needed a factor measured in m (it is measured in {unit})",
            factor.id
        )),
        Kind::Classes { .. } | Kind::Measured(_) => {}
    }
    if !classes || table.spot_of("cuts").is_none() {
        table.require(&["reach_m"]);
    }
}

fn last_cut(table: &Table) -> Option<f64> {
    let cuts = table.tables("cuts")?.value;
    let bounds = cuts.iter().filter_map(|cut| cut.number("to", ANY));
    bounds.map(|found| found.value).reduce(f64::max)
}

fn unit(table: &Table, factor: &Factor, way: Option<Way>) -> Option<UnitConversion> {
    let spot = table.spot_of("unit")?;
    let own = Factor::standard(&factor.id).is_none();
    match (&factor.kind, way) {
        (Kind::Classes { .. }, _) => {
            spot.problem(format!(
                "found a unit for the classes of `{}`, needed none (cuts are in the layer's own unit)",
                factor.id
            ));
            None
        }
        // There it is the unit of the factor itself, which the layer must have.
        (Kind::Measured(_), _) if own => None,
        (Kind::Measured(_), Some(Way::Slope | Way::Sun | Way::Terrain | Way::Distance | Way::SoilSurvey)) => {
            let text = "found a unit for a computed value, needed none";
            spot.problem(text);
            None
        }
        (Kind::Measured(unit), _) => UnitConversion::read(table, "unit", *unit),
    }
}
