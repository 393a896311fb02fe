//! Where the values of a factor come from: exactly one way a factor, with the
//! keys that belong to it. Opens no layer.

use super::from::{self, OtherSections};
use super::limit::{self, PlantLimit};
use super::sun::{self, SunSource};
use super::terrain::{self, TerrainSource};
use super::unit::UnitConversion;
use crate::factor::{Factor, Kind, Unit};
use crate::project::exclude::Exclude;
use crate::project::layer::LayerRef;
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
    /// `limit`: ground on which plants must stay low or thin.
    Limit {
        /// That ground.
        ground: Exclude,
        /// What plants may grow to.
        plants: PlantLimit,
    },
    /// `from = "road_salt"`: computed from the roads of `[road_salt]`.
    RoadSalt,
    /// `from = "soil survey"`: what `[soil_survey]` tells of it.
    SoilSurvey {
        /// The polygons of the survey.
        layer: LayerRef,
        /// What is drawn from it.
        of: SoilFactor,
    },
}

impl FactorSource {
    /// The layer, whatever is done with it.
    ///
    /// # Missing
    /// Where a section of its own names the layers.
    #[must_use]
    pub fn layer(&self) -> Option<&LayerRef> {
        match self {
            FactorSource::Polygons { layer, .. }
            | FactorSource::Raster { layer, .. }
            | FactorSource::Slope { elevation: layer, .. }
            | FactorSource::Distance { layer, .. }
            | FactorSource::SoilSurvey { layer, .. } => Some(layer),
            FactorSource::Sun(source) => Some(&source.elevation),
            FactorSource::Terrain(source) => Some(&source.elevation),
            FactorSource::Limit { ground, .. } => Some(&ground.layer),
            FactorSource::RoadSalt => None,
        }
    }
}

#[derive(Clone, Copy, PartialEq)]
pub(super) enum Way {
    Polygons,
    Raster,
    Slope,
    Sun,
    Terrain,
    Distance,
    RoadSalt,
    SoilSurvey,
    Limit,
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
            Way::Limit => "a limit (`limit`)",
            Way::RoadSalt => "values computed from road salt (`from = \"road_salt\"`)",
            Way::SoilSurvey => "a soil survey (`from = \"soil survey\"`)",
        }
    }
}

/// Which keys belong to which way.
const KEYS: [(&str, &[Way]); 29] = [
    ("attribute", &[Way::Polygons]),
    ("sublayer", &[Way::Polygons, Way::Distance, Way::Limit]),
    ("filter", &[Way::Polygons, Way::Distance, Way::Limit]),
    ("band", &[Way::Raster, Way::Slope, Way::Sun, Way::Terrain]),
    (
        "nodata",
        &[Way::Polygons, Way::Raster, Way::Slope, Way::Sun, Way::Terrain],
    ),
    ("vertical_unit", &[Way::Slope, Way::Sun, Way::Terrain]),
    ("reach_m", &[Way::Sun, Way::Distance]),
    ("width_m", &[Way::Limit]),
    ("width_attribute", &[Way::Limit]),
    ("setback_m", &[Way::Limit]),
    ("highest_m", &[Way::Limit]),
    ("thickest_stem_mm", &[Way::Limit]),
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

pub(super) fn read(table: &Table, factor: Option<&Factor>, others: OtherSections) -> Option<FactorSource> {
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
    let layer = way.and_then(|way| match way {
        Way::Polygons | Way::Raster => LayerRef::read(table, "layer"),
        Way::Slope | Way::Sun | Way::Terrain => LayerRef::read(table, "elevation"),
        Way::Distance => LayerRef::read(table, "distance_to"),
        Way::Limit => LayerRef::read(table, "limit"),
        Way::RoadSalt | Way::SoilSurvey => None,
    });
    let computed = match way {
        Some(Way::RoadSalt) => from::road_salt(table, factor, others),
        Some(Way::SoilSurvey) => from::soil_survey(table, factor, others),
        _ => None,
    };
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
    let is_limit = way == Some(Way::Limit);
    let plants = is_limit.then(|| PlantLimit::read(table));
    let limited_ground = is_limit.then(|| {
        let id = factor.map_or("", |factor| factor.id.as_str());
        limit::ground(table, id, layer.clone())
    });
    let limited_ground = limited_ground.flatten();
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
        Way::RoadSalt | Way::SoilSurvey => computed,
        Way::Limit => Some(FactorSource::Limit {
            ground: limited_ground?,
            plants: plants?,
        }),
    }
}

static WAYS: [&str; 5] = ["layer", "elevation", "distance_to", "from", "limit"];

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
        "distance_to" => Way::Distance,
        "from" => return from::word(table).filter(|_| one),
        _ => Way::Limit,
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
        (
            Kind::Measured(_),
            Some(
                Way::Slope
                | Way::Sun
                | Way::Terrain
                | Way::Distance
                | Way::RoadSalt
                | Way::SoilSurvey
                | Way::Limit,
            ),
        ) => {
            let text = "found a unit for a computed value, needed none";
            spot.problem(text);
            None
        }
        (Kind::Measured(unit), _) => UnitConversion::read(table, "unit", *unit),
    }
}
