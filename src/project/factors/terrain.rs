//! The keys of factors that are computed from the shape of the ground. Opens no layer.

use super::unit::UnitConversion;
use crate::factor::Factor;
use crate::project::layer::LayerRef;
use crate::project::table::Table;
use crate::project::value::ABOVE_ZERO;

/// How a factor of the ground's shape comes about.
#[derive(Debug, Clone, PartialEq)]
pub struct TerrainSource {
    /// `elevation`.
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
    /// What is computed.
    pub measure: Measure,
}

/// What is computed from the shape of the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Measure {
    /// Where a slope faces, from true north.
    Aspect,
    /// Heat load by an equation.
    HeatLoad(Equation),
    /// Potential direct radiation by an equation.
    Radiation(Equation),
    /// Topographic wetness index.
    Wetness {
        /// `catchment_m`: how far around the area water is followed.
        catchment_m: f64,
    },
}

/// The equations of `McCune` and Keon 2002, by their numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Equation {
    /// Latitudes to 60 degrees, all slopes.
    One,
    /// Latitudes to 60 degrees, slopes to 60 degrees.
    Two,
    /// Latitudes from 30 to 60 degrees, slopes to 60 degrees.
    Three,
}

impl Equation {
    /// Its number.
    #[must_use]
    pub fn number(self) -> u8 {
        match self {
            Equation::One => 1,
            Equation::Two => 2,
            Equation::Three => 3,
        }
    }
}

/// How far around the area water is followed unless the project says otherwise. Common
/// practice, no source; what comes from farther is told.
const CATCHMENT_M: f64 = 2_000.0;

pub(super) fn read(
    table: &Table,
    factor: &Factor,
    elevation: Option<LayerRef>,
    band: usize,
    nodata: Option<f64>,
    vertical_unit: Option<UnitConversion>,
) -> Option<TerrainSource> {
    let equation = table.whole("equation", 1..=3);
    let catchment_m = table.number("catchment_m", ABOVE_ZERO);
    let by_equation = matches!(factor.id.as_str(), "heat_load" | "radiation");
    if let Some(found) = equation.as_ref().filter(|_| !by_equation) {
        found.spot.problem(format!(
            "found `equation` for `{}`, needed none: those of heat load and radiation have numbers",
            factor.id
        ));
    }
    if let Some(found) = catchment_m.as_ref().filter(|_| factor.id != "wetness_index") {
        found.spot.problem(format!(
            "found `catchment_m` for `{}`, needed the factor `wetness_index`: it alone follows water",
            factor.id
        ));
    }
    let equation = match equation.map(|found| found.value) {
        Some(2) => Equation::Two,
        Some(3) => Equation::Three,
        _ => Equation::One,
    };
    Some(TerrainSource {
        elevation: elevation?,
        band,
        nodata,
        vertical_unit,
        measure: match factor.id.as_str() {
            "aspect" => Measure::Aspect,
            "heat_load" => Measure::HeatLoad(equation),
            "radiation" => Measure::Radiation(equation),
            _ => Measure::Wetness {
                catchment_m: catchment_m.map_or(CATCHMENT_M, |found| found.value),
            },
        },
    })
}
