//! The keys of a factor of sunlight: `elevation` with what stands on it, what hangs over
//! it, which days count, and when the sun counts as direct. Opens no layer.

use super::unit::UnitConversion;
use crate::factor::Unit;
use crate::project::layer::LayerRef;
use crate::project::season::Season;
use crate::project::table::Table;
use crate::project::value::{ABOVE_ZERO, ANY, Need, SHARE, ZERO_OR_MORE};

/// How hours of direct sun come about.
#[derive(Debug, Clone, PartialEq)]
pub struct SunSource {
    /// `elevation`: heights of the ground.
    pub elevation: LayerRef,
    /// `band`: counted from 1; 1 unless given.
    pub band: usize,
    /// `nodata`: goes before the file's own.
    pub nodata: Option<f64>,
    /// `vertical_unit`, as a conversion to metres.
    ///
    /// # Missing
    /// The file's own; asked for when the file has none.
    pub vertical_unit: Option<UnitConversion>,
    /// What stands on the ground and throws shade.
    pub obstacles: Option<Obstacles>,
    /// What hangs over the cell and lets light through in part.
    pub canopy: Option<Canopy>,
    /// The rest.
    pub settings: LightSettings,
}

/// A further raster of a factor: `{ layer = "...", band = 1, nodata = 0, crs = "...", unit = "..." }`.
#[derive(Debug, Clone, PartialEq)]
pub struct SideRaster {
    /// The raster.
    pub layer: LayerRef,
    /// Counted from 1; 1 unless given.
    pub band: usize,
    /// Goes before the file's own.
    pub nodata: Option<f64>,
    /// The unit of its cells, where it is another than the usual one.
    pub unit: Option<UnitConversion>,
}

/// What stands on the ground and throws shade.
#[derive(Debug, Clone, PartialEq)]
pub enum Obstacles {
    /// `surface`: heights of the tops of things, above the same zero as the ground.
    Surface(SideRaster),
    /// `obstacles`: heights of things above the ground.
    AboveGround(SideRaster),
}

impl Obstacles {
    /// The raster.
    #[must_use]
    pub fn raster(&self) -> &SideRaster {
        match self {
            Obstacles::Surface(raster) | Obstacles::AboveGround(raster) => raster,
        }
    }
}

/// What hangs over a cell.
#[derive(Debug, Clone, PartialEq)]
pub struct Canopy {
    /// The raster.
    pub raster: SideRaster,
    /// What its numbers are.
    pub foliage: Foliage,
}

/// What the numbers of a canopy layer are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Foliage {
    /// `canopy`: cover in per cent; the rest is gaps.
    Cover,
    /// `leaf_area`: leaf area index; gaps are exp(-k L).
    LeafArea {
        /// `extinction`: k.
        extinction: f64,
    },
}

/// What ground means whose height is unknown and which lies within the reach of a cell's
/// horizon, on a side where the sun goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnknownHeights {
    /// The hours of the cell are missing: the default.
    Missing,
    /// It throws no shade, and the area of such cells is told.
    Open,
}

/// When sun counts, and as how much.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LightSettings {
    /// `season_from`, `season_to`.
    ///
    /// # Missing
    /// The usual season of the factor on the site's side of the equator.
    pub season: Option<Season>,
    /// Whether the factor is that of spring, before the leaves.
    pub leafless: bool,
    /// `reach_m`: ground farther than this throws no shade.
    pub reach_m: f64,
    /// `directions`: how many horizons a cell has.
    pub directions: usize,
    /// `least_irradiance`: the beam counts from here, in W/m2.
    pub least_irradiance_w_m2: f64,
    /// `least_sun_height`: the sun counts from here, in degrees.
    pub least_sun_height_deg: f64,
    /// `foliage_left`: the share of cover or leaf area that throws shade in the season.
    pub foliage_left: f64,
    /// `low_sun`: whether a low sun finds fewer gaps than a high one.
    pub slant: bool,
    /// `unknown_heights`.
    pub unknown_heights: UnknownHeights,
}

/// How far horizons reach unless the project says otherwise. Common practice, no source: at
/// 500 m a hill of 25 m takes three degrees of the sky.
const REACH_M: f64 = 500.0;

/// The meteorological threshold of sunshine: WMO, Guide to Meteorological Instruments and Methods
/// of Observation, chapter on the measurement of sunshine duration.
const LEAST_IRRADIANCE_W_M2: f64 = 120.0;

/// Lower sun hardly warms or feeds a plant, and grasses and shrubs that no layer shows stand
/// in its way. Common practice, no source.
const LEAST_SUN_HEIGHT_DEG: f64 = 5.0;

/// Vose et al. 1995, Canadian Journal of Forest Research 25:1036-1043, found 0.53 to 0.67
/// in mature hardwoods, and with 0.53 errors of -35 to +85 % in the leaf area of two of five
/// other stands; 0.5 is that of leaves that face all ways alike (Campbell and Norman 1998, from
/// memory, unverified).
const EXTINCTION: f64 = 0.5;

/// The share of a canopy that stems and branches are. From memory, unverified.
const FOLIAGE_LEFT_IN_SPRING: f64 = 0.4;

const SUN_HEIGHT: Need = Need {
    words: "degrees from 0 to 60",
    holds: |number| (0.0..=60.0).contains(&number),
};
const IRRADIANCE: Need = Need {
    words: "W/m2 from 0 to 800",
    holds: |number| (0.0..=800.0).contains(&number),
};

/// Reads what a factor of sunlight has beside its elevation.
pub(super) fn read(
    table: &Table,
    leafless: bool,
    elevation: Option<LayerRef>,
    band: usize,
    nodata: Option<f64>,
    vertical_unit: Option<UnitConversion>,
) -> Option<SunSource> {
    let surface = side(table, "surface", Unit::Metre, false);
    let obstacles = side(table, "obstacles", Unit::Metre, false);
    let cover = side(table, "canopy", Unit::Percent, true);
    let leaf_area = side(table, "leaf_area", Unit::Index, false);
    let extinction = table.number("extinction", ABOVE_ZERO);
    for (one, other) in [("surface", "obstacles"), ("canopy", "leaf_area")] {
        if let (Some(_), Some(spot)) = (table.spot_of(one), table.spot_of(other)) {
            spot.problem(format!("found `{other}` beside `{one}`, needed one of them"));
        }
    }
    if let (Some(found), None) = (&extinction, table.spot_of("leaf_area")) {
        found
            .spot
            .problem("found `extinction` without `leaf_area`, needed the leaf area that it belongs to");
    }
    let foliage_left = table.number("foliage_left", SHARE);
    if let (Some(found), None, None) = (&foliage_left, table.spot_of("canopy"), table.spot_of("leaf_area")) {
        found
            .spot
            .problem("found `foliage_left` without a canopy, needed `canopy` or `leaf_area`");
    }
    let low_sun = table.word("low_sun", &[("fewer gaps", true), ("same gaps", false)]);
    let unknown_heights = table.word(
        "unknown_heights",
        &[
            ("missing", UnknownHeights::Missing),
            ("open", UnknownHeights::Open),
        ],
    );
    let directions = table.whole("directions", 16..=360);
    let settings = LightSettings {
        season: Season::read(table),
        leafless,
        reach_m: table
            .number("reach_m", ABOVE_ZERO)
            .map_or(REACH_M, |found| found.value),
        directions: directions
            .and_then(|found| usize::try_from(found.value).ok())
            .unwrap_or(32),
        least_irradiance_w_m2: table
            .number("least_irradiance", IRRADIANCE)
            .map_or(LEAST_IRRADIANCE_W_M2, |found| found.value),
        least_sun_height_deg: table
            .number("least_sun_height", SUN_HEIGHT)
            .map_or(LEAST_SUN_HEIGHT_DEG, |found| found.value),
        foliage_left: foliage_left.map_or(if leafless { FOLIAGE_LEFT_IN_SPRING } else { 1.0 }, |found| {
            found.value
        }),
        slant: low_sun.is_none_or(|found| found.value),
        unknown_heights: unknown_heights.map_or(UnknownHeights::Missing, |found| found.value),
    };
    let obstacles = match (surface?, obstacles?) {
        (Some(raster), _) => Some(Obstacles::Surface(raster)),
        (None, Some(raster)) => Some(Obstacles::AboveGround(raster)),
        (None, None) => None,
    };
    let extinction = extinction.map_or(EXTINCTION, |found| found.value);
    let canopy = match (cover?, leaf_area?) {
        (Some(raster), _) => Some((raster, Foliage::Cover)),
        (None, Some(raster)) => Some((raster, Foliage::LeafArea { extinction })),
        (None, None) => None,
    };
    Some(SunSource {
        elevation: elevation?,
        band,
        nodata,
        vertical_unit,
        obstacles,
        canopy: canopy.map(|(raster, foliage)| Canopy { raster, foliage }),
        settings,
    })
}

/// A further raster; the outer nothing when there is a problem with it, the inner one when
/// it is not given.
#[expect(
    clippy::option_option,
    reason = "not given and given wrongly are two things here"
)]
fn side(table: &Table, key: &'static str, unit: Unit, percent: bool) -> Option<Option<SideRaster>> {
    let Some(_) = table.spot_of(key) else {
        return Some(None);
    };
    let inner = table.table(key)?;
    inner.require(&["layer"]);
    let layer = LayerRef::read(&inner, "layer");
    for key in ["sublayer", "filter"] {
        if let Some(spot) = inner.spot_of(key) {
            spot.problem("found a key of vector layers, needed those of a raster");
        }
    }
    let band = inner
        .whole("band", 1..=65_535)
        .and_then(|found| usize::try_from(found.value).ok())
        .unwrap_or(1);
    let nodata = inner.number("nodata", ANY).map(|found| found.value);
    let unit = if unit == Unit::Index && !percent {
        None
    } else {
        UnitConversion::read(&inner, "unit", unit)
    };
    inner.finish();
    Some(Some(SideRaster {
        layer: layer?,
        band,
        nodata,
        unit,
    }))
}

/// Hours from which ground is called full sun, and below which shade.
///
/// Full sun from 6 hours is common practice; the limit of shade is set at 2, 3 or 4 hours by
/// different gardening sources, and 3 is the most usual.
pub(super) fn words(table: &Table) -> Option<(f64, f64)> {
    let full = table.number("full_sun_from", ZERO_OR_MORE);
    let shade = table.number("shade_below", ZERO_OR_MORE);
    let from = full.as_ref().map_or(6.0, |found| found.value);
    let below = shade.as_ref().map_or(3.0, |found| found.value);
    if below > from {
        let spot = shade.or(full)?.spot;
        spot.problem(format!(
            "found full sun from {from} hours and shade below {below}, needed full sun to begin no lower than shade ends"
        ));
        return None;
    }
    Some((from, below))
}
