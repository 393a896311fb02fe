//! Things to heed: general ones for every run, those a zone's ground calls for, and
//! those the catalogue records of plants. Pure; in come ground values and traits, out
//! go sentences.

use crate::factor::{Factor, Kind};
use crate::species::Species;
use crate::zones::{GroundValue, Listing, Zone, ZoneSpecies};

use super::plant_cautions::plants_caution;
use super::words::{factor_words, species_words};

/// What holds for every result, each a sentence.
///
/// Common practice of the trade, no source.
pub const GENERAL: [&str; 6] = [
    "This is a desk screening from mapped data: check soil and site by hand before relying on it.",
    "Have buried lines located before any digging.",
    "Sight distance, clear zone and traffic control belong to the road agency's engineer.",
    "Work in wetlands, waters and rights-of-way, or near listed species, needs its permits.",
    "Plants that poison, prick or fall are marked where the catalogue knows; silence is not safety.",
    "Local codes and licensed practice come first.",
];

/// Mean slope in per cent from which ground counts as steep: one in three, beyond
/// which machines that mow and plant are commonly kept off. Common practice, no
/// source.
pub const STEEP_PCT: f64 = 33.0;

/// The first class of each factor that speaks of wet ground.
const WET_FROM: [(&str, &str); 4] = [
    ("moisture", "wet-mesic"),
    ("drainage", "poorly drained"),
    ("flooding", "occasional"),
    ("ponding", "occasional"),
];

/// All there is to heed in a zone, each a sentence: what its ground calls for, what the
/// catalogue records of the plants on its list, and which plants are left off.
#[must_use]
pub fn of_zone(zone: &Zone, factors: &[Factor], species: &[Species]) -> Vec<String> {
    let mut cautions = zone_cautions(&zone.ground, factors);
    let listed = zone.species.iter().filter(|entry| entry.listing.is_listed());
    cautions.extend(plants_caution(listed.map(|entry| &species[entry.index()])));
    cautions.extend(left_out_caution(&zone.species, species));
    cautions
}

/// What the ground of one zone calls for, each a sentence.
///
/// # Missing
/// Decisive factors known in no cell of the zone are named.
///
/// # Examples
/// ```
/// use groundfit::factor::Factor;
/// use groundfit::output::cautions::zone_cautions;
/// use groundfit::zones::GroundValue;
///
/// let factors = [Factor::standard("slope").unwrap()];
/// let steep = GroundValue::Measured { mean: 41.0, least: 30.0, greatest: 60.0 };
/// let cautions = zone_cautions(&[steep], &factors);
/// assert!(cautions[0].starts_with("Steep ground (slope 41 % on average)"));
/// ```
#[must_use]
pub fn zone_cautions(ground: &[GroundValue], factors: &[Factor]) -> Vec<String> {
    let mut cautions = Vec::new();
    let wet: Vec<String> = pairs(ground, factors)
        .filter_map(|(value, factor)| wet(value, factor))
        .collect();
    if !wet.is_empty() {
        cautions.push(format!(
            "Wet ground ({}): it may be a regulated wetland or water; ask which permits it needs before any work.",
            wet.join(", ")
        ));
    }
    for (value, factor) in pairs(ground, factors) {
        match (factor.id.as_str(), value) {
            ("spray_salt", GroundValue::Class { class, .. }) if *class > 0 => cautions.push(format!(
                "Salt spray from a road ({}): sight distance, clear zone and traffic control here belong to the road agency's engineer.",
                factor.show_class(*class)
            )),
            ("made_ground", value) if is_made(value, factor) => cautions.push(
                "Ground made or moved by people (fill, cuts or urban land): a soil survey's drainage is of no use there; check soil and drainage by hand.".to_owned(),
            ),
            ("slope", GroundValue::Measured { mean, .. }) if *mean >= STEEP_PCT => cautions.push(format!(
                "Steep ground (slope {mean:.0} % on average): mind erosion, footing and the reach of machines.",
            )),
            _ => {}
        }
    }
    let missing: Vec<String> = pairs(ground, factors)
        .filter(|(value, factor)| factor.decisive && **value == GroundValue::Missing)
        .map(|(_, factor)| factor_words(&factor.id))
        .collect();
    if !missing.is_empty() {
        cautions.push(format!(
            "Not known here, to be checked on the ground: {}.",
            missing.join(", ")
        ));
    }
    cautions
}

fn pairs<'a>(
    ground: &'a [GroundValue],
    factors: &'a [Factor],
) -> impl Iterator<Item = (&'a GroundValue, &'a Factor)> {
    ground.iter().zip(factors)
}

/// Whether most of the zone, or more than so little that it may be a slip of a border,
/// was made by people.
fn is_made(value: &GroundValue, factor: &Factor) -> bool {
    let &GroundValue::Class { class, share } = value else {
        return false;
    };
    // Of two classes the other one has what this one leaves.
    let made = factor.kind.class_index("made") == Some(class);
    made || share < 0.95
}

fn wet(value: &GroundValue, factor: &Factor) -> Option<String> {
    let &GroundValue::Class { class, .. } = value else {
        return None;
    };
    let (_, first) = WET_FROM.iter().find(|(id, _)| *id == factor.id)?;
    let ordered = matches!(factor.kind, Kind::Classes { ordered: true, .. });
    let wet = ordered && class >= factor.kind.class_index(first)?;
    wet.then(|| format!("{} {}", factor_words(&factor.id), factor.show_class(class)))
}

/// The species that suit a zone and are left off its list because they are not documented
/// there; nothing where there are none.
#[must_use]
pub fn left_out_caution(entries: &[ZoneSpecies], species: &[Species]) -> Option<String> {
    let left_out = entries
        .iter()
        .filter(|entry| entry.listing == Listing::NotDocumented);
    let names: Vec<String> = left_out
        .map(|entry| species_words(&species[entry.index()]))
        .collect();
    let more = names.len().saturating_sub(LEFT_OUT_NAMED);
    let more = if more > 0 {
        format!(" and {more} more")
    } else {
        String::new()
    };
    (!names.is_empty()).then(|| {
        format!(
            "Suit the ground and are left off the list because they are not documented here, as the project asks: {}{more}. Maps of records follow the collectors.",
            names[..names.len().min(LEFT_OUT_NAMED)].join(", ")
        )
    })
}

/// How many species a sentence names.
const LEFT_OUT_NAMED: usize = 8;

#[cfg(test)]
mod tests {
    use super::*;

    fn factors(ids: &[&str]) -> Vec<Factor> {
        ids.iter().map(|id| Factor::standard(id).unwrap()).collect()
    }

    fn class(factor: &Factor, name: &str) -> GroundValue {
        let class = factor.kind.class_index(name).unwrap();
        GroundValue::Class { class, share: 0.8 }
    }

    #[test]
    fn wet_ground_asks_for_permits_and_dry_ground_does_not() {
        let factors = factors(&["drainage", "flooding"]);
        let none = class(&factors[1], "none");
        let wet = [class(&factors[0], "poorly drained"), none.clone()];
        let cautions = zone_cautions(&wet, &factors);
        assert_eq!(cautions.len(), 1);
        assert!(
            cautions[0].contains("(drainage poorly drained)"),
            "{}",
            cautions[0]
        );
        let dry = [class(&factors[0], "somewhat poorly drained"), none];
        assert!(zone_cautions(&dry, &factors).is_empty());
    }

    #[test]
    fn made_ground_is_to_be_checked_by_hand() {
        let factors = factors(&["made_ground"]);
        let cautions = |name: &str, share| {
            let class = factors[0].kind.class_index(name).unwrap();
            zone_cautions(&[GroundValue::Class { class, share }], &factors)
        };
        assert!(cautions("made", 0.6)[0].contains("check soil and drainage by hand"));
        assert_eq!(cautions("natural", 0.9).len(), 1);
        assert!(cautions("natural", 0.96).is_empty());
        assert!(zone_cautions(&[GroundValue::Missing], &factors).is_empty());
    }

    #[test]
    fn any_spray_brings_the_road_engineer_in() {
        let factors = factors(&["spray_salt"]);
        assert!(zone_cautions(&[class(&factors[0], "none")], &factors).is_empty());
        let cautions = zone_cautions(&[class(&factors[0], "slight")], &factors);
        assert!(cautions[0].contains("sight distance"), "{}", cautions[0]);
    }

    #[test]
    fn what_is_not_known_is_said() {
        let factors = factors(&["ph", "organic_matter"]);
        let missing = [GroundValue::Missing, GroundValue::Missing];
        let cautions = zone_cautions(&missing, &factors);
        assert_eq!(cautions, ["Not known here, to be checked on the ground: pH."]);
    }

    #[test]
    fn gentle_slopes_need_no_word() {
        let factors = factors(&["slope"]);
        let gentle = GroundValue::Measured {
            mean: 32.9,
            least: 0.0,
            greatest: 80.0,
        };
        assert!(zone_cautions(&[gentle], &factors).is_empty());
    }
}
