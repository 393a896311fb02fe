//! The moisture of the ground on the trade's scale from dry to wet, by a rule that can
//! be read. In comes what a survey tells of drainage, water table, available water and
//! texture; out goes the class with what it rests on.

use super::Texture;
use crate::factor::as_written;

/// The classes, from dry to wet, as the factor `moisture` has them.
pub const MOISTURE_CLASSES: [&str; 5] = ["dry", "dry-mesic", "mesic", "wet-mesic", "wet"];

const WET_MESIC: u8 = 3;
const MESIC: u8 = 2;

/// How much water the soil above the depth holds for plants.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Holding {
    /// Under 10 cm of water in a metre.
    Little,
    /// From 10 cm to under 17 cm.
    Middling,
    /// 17 cm and more.
    Much,
}

impl Holding {
    /// All of them, from little to much.
    pub const ALL: [Holding; 3] = [Holding::Little, Holding::Middling, Holding::Much];

    /// By available water, in cm of water in a metre of soil. The limits are from
    /// memory, unverified: sands hold some 5 to 10 cm, loams and silt loams 17 to 22.
    #[must_use]
    pub fn of_water(cm_in_a_metre: f64) -> Holding {
        if cm_in_a_metre < 10.0 {
            Holding::Little
        } else if cm_in_a_metre < 17.0 {
            Holding::Middling
        } else {
            Holding::Much
        }
    }

    /// By texture, where available water is not told. From memory, unverified.
    #[must_use]
    pub fn of_texture(texture: Texture) -> Holding {
        match texture {
            Texture::Sand | Texture::LoamySand => Holding::Little,
            Texture::SandyLoam | Texture::SandyClayLoam | Texture::SandyClay | Texture::Clay => {
                Holding::Middling
            }
            Texture::Loam
            | Texture::SiltLoam
            | Texture::Silt
            | Texture::ClayLoam
            | Texture::SiltyClayLoam
            | Texture::SiltyClay => Holding::Much,
        }
    }

    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Holding::Little => "little",
            Holding::Middling => "middling",
            Holding::Much => "much",
        }
    }
}

/// What is known of a soil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Evidence {
    /// Natural drainage class, 0 excessively to 6 very poorly drained.
    pub drainage: Option<u16>,
    /// Least depth to wet soil in any month, cm.
    pub water_table_cm: Option<f64>,
    /// Water held above `water_depth_cm`, cm.
    pub available_water_cm: Option<f64>,
    /// The depth of the available water, cm.
    pub water_depth_cm: f64,
    /// Texture.
    pub texture: Option<Texture>,
}

/// How moist a soil is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moisture {
    /// The class, 0 dry to 4 wet.
    pub class: u8,
    /// What the rule had to assume; nothing where it knew all it needed.
    pub assumed: Option<&'static str>,
    /// Whether the water table made it wetter than drainage alone.
    pub raised_by_water_table: bool,
}

/// The rule as a table: a row for each drainage class, a column for each [`Holding`].
pub type MoistureTable = [[u8; 3]; 7];

/// The table of the rule, from excessively to very poorly drained, and from little to
/// much water held.
///
/// # Method
/// Made for this program after the words that floras and planting guides use of
/// prairie and woodland ground: common practice, no source. Where water leaves freely
/// it is the water the soil holds that counts; where it does not, drainage does.
#[must_use]
pub const fn moisture_table() -> MoistureTable {
    [
        [0, 0, 1],
        [0, 1, 1],
        [1, 2, 2],
        [2, 2, 2],
        [3, 3, 3],
        [3, 4, 4],
        [4, 4, 4],
    ]
}

/// What is assumed where neither available water nor texture is told: soils that drain
/// excessively hold little by their definition, of others the middle is taken.
const ASSUMED: [Holding; 7] = [
    Holding::Little,
    Holding::Little,
    Holding::Middling,
    Holding::Middling,
    Holding::Middling,
    Holding::Middling,
    Holding::Middling,
];

/// The moisture of a soil.
///
/// # Missing
/// Where neither drainage nor a water table is told.
///
/// # Method
/// The class stands in [`moisture_table`]. Then the water table may make it wetter,
/// never drier: at the surface it is wet, within 50 cm at least wet-mesic, within 100
/// cm at least mesic. Where drainage is not told, it
/// is taken from the water table by the depths of free water in the Soil Survey Manual
/// (USDA Handbook 18).
#[must_use]
pub fn moisture(evidence: &Evidence) -> Option<Moisture> {
    let water_table = evidence.water_table_cm;
    let (drainage, mut assumed) = match (evidence.drainage, water_table) {
        (Some(drainage), _) => (drainage, None),
        (None, Some(depth_cm)) => (
            drainage_of(depth_cm),
            Some("the drainage that goes with its water table"),
        ),
        (None, None) => return None,
    };
    let row = usize::from(drainage).min(6);
    let in_a_metre = |cm: f64| cm / evidence.water_depth_cm * 100.0;
    let told = evidence
        .available_water_cm
        .map(|cm| Holding::of_water(in_a_metre(cm)))
        .or(evidence.texture.map(Holding::of_texture));
    let table = moisture_table()[row];
    // Nothing is assumed where it would make no difference.
    let matters = table[0] != table[2];
    if told.is_none() && matters {
        assumed = assumed.or(Some(match ASSUMED[row] {
            Holding::Little => "a soil that holds little water",
            _ => "a soil that holds a middling amount of water",
        }));
    }
    let by_drainage = table[told.unwrap_or(ASSUMED[row]) as usize];
    let at_least = water_table.map_or(0, least_class);
    Some(Moisture {
        class: by_drainage.max(at_least),
        assumed,
        raised_by_water_table: at_least > by_drainage,
    })
}

/// The least moisture that goes with a water table at a depth.
fn least_class(depth_cm: f64) -> u8 {
    if depth_cm <= 0.0 {
        4
    } else if depth_cm <= 50.0 {
        WET_MESIC
    } else if depth_cm <= 100.0 {
        MESIC
    } else {
        0
    }
}

/// The drainage class that goes with free water at a depth.
fn drainage_of(depth_cm: f64) -> u16 {
    if depth_cm <= 0.0 {
        6
    } else if depth_cm <= 25.0 {
        5
    } else if depth_cm <= 50.0 {
        4
    } else if depth_cm <= 100.0 {
        3
    } else {
        2
    }
}

/// From which wetness of the terrain a place counts as a step wetter or drier than its
/// soil says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WetnessNudge {
    /// Ground under this wetness index sheds water.
    pub drier_below: f64,
    /// Ground from this wetness index on gathers water.
    pub wetter_from: f64,
}

impl WetnessNudge {
    /// The class moved by one step at most. A nudge makes no ground wet or dry that
    /// its soil does not: the outer classes are neither reached nor left.
    ///
    /// # Missing
    /// Without an index the class stays.
    #[must_use]
    pub fn nudged(&self, class: f32, wetness_index: f32) -> f32 {
        let inner = 1.0..=3.0;
        if !inner.contains(&class) {
            class
        } else if as_written(wetness_index) >= self.wetter_from {
            (class + 1.0).min(3.0)
        } else if as_written(wetness_index) < self.drier_below {
            (class - 1.0).max(1.0)
        } else {
            class
        }
    }
}

#[cfg(test)]
#[path = "moisture_tests.rs"]
mod tests;
