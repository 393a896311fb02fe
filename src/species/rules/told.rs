//! The rules as a page for people, every number from where it is used.

use std::fmt::Write;

use super::{Level, ground, light, salt, water};
use crate::factor::Factor;
use crate::project::RuleSettings;

/// All rules with their tables, as Markdown.
#[must_use]
pub fn told(settings: &RuleSettings) -> String {
    let mut page = String::from(
        "The scores are ours (common practice, no source); the levels they are applied to are recorded. With the\n\
         default limits 0.85 is well suited (S1), 0.60 suited (S2). Where nothing is recorded there is no response.\n\n",
    );
    // Writing to a text cannot fail.
    let _ = water(&mut page, settings);
    let _ = shade(&mut page);
    let _ = soil(&mut page, settings);
    let _ = salted(&mut page);
    let _ = rest(&mut page);
    page
}

fn water(page: &mut String, settings: &RuleSettings) -> std::fmt::Result {
    let first = settings
        .wetland_region
        .as_deref()
        .map_or("", |_| " the project's, then");
    writeln!(
        page,
        "**Rule 1, water.** Moisture and drainage from the wetland status of the first region that has one:{first} Midwest,\n\
         Northcentral and Northeast, the Michigan list. How much water a plant can draw is never used.\n"
    )?;
    table(
        page,
        "status",
        &names("moisture"),
        water::MOISTURE.iter().map(|(of, row)| (of.word(), &row[..])),
    )?;
    table(
        page,
        "status",
        &names("drainage"),
        water::DRAINAGE.iter().map(|(of, row)| (of.word(), &row[..])),
    )?;
    writeln!(
        page,
        "**Rule 2, air at the roots.** For FAC, FACU and UPL the wet end is at most this; OBL and FACW keep\ntheir status, and a contradiction is marked.\n"
    )?;
    for (level, drainage, moisture) in water::AIR {
        writeln!(
            page,
            "- anaerobic tolerance {}: somewhat poorly, poorly, very poorly drained {}; wet-mesic, wet {}",
            level.word(),
            list(&drainage),
            list(&moisture)
        )?;
    }
    writeln!(
        page,
        "\n**Rule 3, drought.** For FAC, FACU and UPL, the two driest classes of either factor. Drought tolerance is\nrelative to plants of the same habit and region, so it only shifts the status.\n"
    )?;
    writeln!(
        page,
        "- drought tolerance high: at least {} (FAC {})",
        list(&water::DROUGHT_LEAST),
        list(&water::DROUGHT_LEAST_FAC)
    )?;
    for (level, most) in water::DROUGHT_MOST {
        writeln!(
            page,
            "- drought tolerance {}: at most {}",
            level.word(),
            list(&most)
        )?;
    }
    writeln!(page)
}

fn shade(page: &mut String) -> std::fmt::Result {
    writeln!(
        page,
        "**Rule 4, shade.** Shade tolerance sets the shady end. Where common practice plants only in brighter light, the\nstricter is used and the value is marked as disputed.\n"
    )?;
    for (level, points) in light::CANOPY {
        writeln!(page, "- {}: canopy in % {}", level.word(), curve(points))?;
    }
    for (level, points) in light::SUN {
        writeln!(page, "- {}: hours of sun a day {}", level.word(), curve(points))?;
    }
    writeln!(
        page,
        "\n**Rule 5, the sunny end.** \"Tolerant\" says that a plant stands shade, not that it stands full sun. In the open (no\n\
         canopy, {} hours of sun) plants called intolerant score 1, others by the sunniest light they are planted in:\n",
        light::OPEN_GROUND_HOURS
    )?;
    for (sunniest, score) in light::OPEN {
        writeln!(page, "- {}: {score}", sunniest.word())?;
    }
    writeln!(
        page,
        "- not told: {} where called intermediate and for trees, {} for tolerant shrubs, {} for tolerant herbs\n",
        light::OPEN_UNTOLD_TREE,
        light::OPEN_UNTOLD_SHRUB,
        light::OPEN_UNTOLD_HERB
    )
}

fn soil(page: &mut String, settings: &RuleSettings) -> std::fmt::Result {
    writeln!(
        page,
        "**Rule 6, pH.** The recorded limits are where the plant is known, not where it dies: {} at each limit, 0 at {} beyond,\n\
         1 from {} of the range inside. These three are settings.\n",
        settings.ph_at_limit, settings.ph_beyond, settings.ph_inside
    )
}

fn salted(page: &mut String) -> std::fmt::Result {
    writeln!(
        page,
        "**Rule 7, soil salinity.** A straight line, as threshold and slope, through {} at the upper limit of the recorded class (a\n\
         tenth less growth) and {} at that of the next. Derived, not measured.\n",
        salt::AT_LIMIT,
        salt::AT_NEXT
    )?;
    for (level, limit, next) in salt::SALINITY {
        writeln!(page, "- {}: {limit} and {next} dS/m", level.word())?;
    }
    writeln!(
        page,
        "\n**Rule 8, spray.** From what is said of air-borne road salt alone. Where nothing is known there is no response, and the\nspecies is unknown at the road's edge.\n"
    )?;
    table(
        page,
        "spray tolerance",
        &names("spray_salt"),
        salt::SPRAY.iter().map(|(of, row)| (of.word(), &row[..])),
    )?;
    writeln!(
        page,
        "**Rule 9, salt without air.** Waterlogged roots keep salt out less well (Barrett-Lennard 2003, from memory, unverified).\n\
         Plants of FAC and wetter status with salinity tolerance {} or {} and anaerobic tolerance {} or {} keep it from\n\
         excessively to moderately well drained; on wetter ground they count as {}.\n",
        Level::Medium.word(),
        Level::High.word(),
        Level::None.word(),
        Level::Low.word(),
        Level::None.word()
    )
}

fn rest(page: &mut String) -> std::fmt::Result {
    writeln!(
        page,
        "**Rule 10, a second source for water.** Ground one step outside the moisture in which common practice has a species do\n\
         well scores at most {} on the side of mesic ground and {} on the other, further out {} and {}. It never lifts a score.\n\
         Where the two contradict, both are kept.\n",
        water::TOWARDS_MESIC[0],
        water::AWAY_FROM_MESIC[0],
        water::TOWARDS_MESIC[1],
        water::AWAY_FROM_MESIC[1]
    )?;
    writeln!(
        page,
        "**Rule 11, texture.** Groups of texture (coarse: sand, loamy sand; fine: sandy clay, silty clay, clay; medium: all else) to\n\
         which the plant is recorded as adapted score 1, others {}.\n",
        ground::NOT_ADAPTED
    )?;
    writeln!(
        page,
        "**Rule 12, carbonates.** From carbonate tolerance, over calcium carbonate in %.\n"
    )?;
    for (level, points) in ground::CARBONATES {
        writeln!(page, "- {}: {}", level.word(), curve(points))?;
    }
    writeln!(
        page,
        "\n**Rule 13, hardiness.** From a published hardiness zone alone, never from the lowest recorded temperature: 1 from the\n\
         mean yearly minimum at which the zone begins, 0 at {} degrees C below.\n",
        ground::BEYOND_ZONE_C
    )?;
    writeln!(
        page,
        "**Rule 14, level ground.** A plant of level ground, over slope in %: {}.",
        curve(&ground::LEVEL_GROUND)
    )
}

fn names(factor: &str) -> Vec<String> {
    let factor = Factor::standard(factor);
    factor
        .and_then(|factor| factor.kind.classes().map(<[String]>::to_vec))
        .unwrap_or_default()
}

fn table<'a>(
    page: &mut String,
    head: &str,
    columns: &[String],
    rows: impl Iterator<Item = (&'a str, &'a [f64])>,
) -> std::fmt::Result {
    writeln!(page, "| {head} | {} |", columns.join(" | "))?;
    writeln!(page, "|{}", " --- |".repeat(columns.len() + 1))?;
    for (name, scores) in rows {
        let scores: Vec<String> = scores.iter().map(f64::to_string).collect();
        writeln!(page, "| {name} | {} |", scores.join(" | "))?;
    }
    writeln!(page)
}

fn list(scores: &[f64]) -> String {
    scores.iter().map(f64::to_string).collect::<Vec<_>>().join(", ")
}

fn curve(points: &[(f64, f64)]) -> String {
    let points: Vec<String> = points
        .iter()
        .map(|(value, score)| format!("{value}:{score}"))
        .collect();
    format!("`{}`", points.join(" "))
}
