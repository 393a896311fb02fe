//! The twelve texture classes of the USDA triangle. In come per cent of sand and clay;
//! out goes the class.

/// A texture class, in the order of the factor `texture`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "the names are those of the classes")]
pub enum Texture {
    Sand,
    LoamySand,
    SandyLoam,
    Loam,
    SiltLoam,
    Silt,
    SandyClayLoam,
    ClayLoam,
    SiltyClayLoam,
    SandyClay,
    SiltyClay,
    Clay,
}

/// Shares that do not come out exactly are taken to this part of a per cent.
const STEPS: f64 = 1e6;

impl Texture {
    /// All classes, in order.
    pub const ALL: [Texture; 12] = [
        Texture::Sand,
        Texture::LoamySand,
        Texture::SandyLoam,
        Texture::Loam,
        Texture::SiltLoam,
        Texture::Silt,
        Texture::SandyClayLoam,
        Texture::ClayLoam,
        Texture::SiltyClayLoam,
        Texture::SandyClay,
        Texture::SiltyClay,
        Texture::Clay,
    ];

    /// The class of a soil with so much sand and clay; the rest is silt.
    ///
    /// # Units
    /// Per cent by weight of the earth finer than 2 mm.
    ///
    /// # Missing
    /// Shares below 0, or over 100 together, are no soil.
    ///
    /// # Method
    /// The limits of the USDA triangle as Benham, Ahrens and Nettleton (2009,
    /// Clarification of Soil Texture Class Boundaries, National Soil Survey Center)
    /// give them: every point belongs to exactly one class.
    ///
    /// # Examples
    /// ```
    /// use groundfit::soil::Texture;
    /// assert_eq!(Texture::of(40.0, 20.0), Some(Texture::Loam));
    /// assert_eq!(Texture::of(60.0, 50.0), None);
    /// ```
    #[must_use]
    pub fn of(sand_pct: f64, clay_pct: f64) -> Option<Texture> {
        let settled = |share: f64| (share * STEPS).round() / STEPS;
        let (sand, clay) = (settled(sand_pct), settled(clay_pct));
        let silt = settled(100.0 - sand - clay);
        if !(sand >= 0.0 && clay >= 0.0 && silt >= 0.0) {
            return None;
        }
        Some(if silt + 1.5 * clay < 15.0 {
            Texture::Sand
        } else if silt + 2.0 * clay < 30.0 {
            Texture::LoamySand
        } else if clay >= 40.0 {
            match (silt >= 40.0, sand > 45.0) {
                (true, _) => Texture::SiltyClay,
                (false, true) => Texture::SandyClay,
                (false, false) => Texture::Clay,
            }
        } else if clay >= 35.0 && sand > 45.0 {
            Texture::SandyClay
        } else if clay >= 20.0 && silt < 28.0 && sand > 45.0 {
            Texture::SandyClayLoam
        } else if clay >= 27.0 {
            if sand > 20.0 {
                Texture::ClayLoam
            } else {
                Texture::SiltyClayLoam
            }
        } else if silt >= 80.0 && clay < 12.0 {
            Texture::Silt
        } else if silt >= 50.0 {
            Texture::SiltLoam
        } else if clay >= 7.0 && sand <= 52.0 {
            Texture::Loam
        } else {
            Texture::SandyLoam
        })
    }

    /// The name of the class.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Texture::Sand => "sand",
            Texture::LoamySand => "loamy sand",
            Texture::SandyLoam => "sandy loam",
            Texture::Loam => "loam",
            Texture::SiltLoam => "silt loam",
            Texture::Silt => "silt",
            Texture::SandyClayLoam => "sandy clay loam",
            Texture::ClayLoam => "clay loam",
            Texture::SiltyClayLoam => "silty clay loam",
            Texture::SandyClay => "sandy clay",
            Texture::SiltyClay => "silty clay",
            Texture::Clay => "clay",
        }
    }

    /// The number of the class in the factor `texture`.
    #[must_use]
    pub fn class(self) -> u16 {
        self as u16
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The limits of each class as they are printed, each by itself: Benham, Ahrens
    /// and Nettleton 2009.
    fn printed(class: Texture, sand: i32, silt: i32, clay: i32) -> bool {
        match class {
            Texture::Sand => 2 * silt + 3 * clay < 30,
            Texture::LoamySand => 2 * silt + 3 * clay >= 30 && silt + 2 * clay < 30,
            Texture::SandyLoam => {
                silt + 2 * clay >= 30 && (((7..20).contains(&clay) && sand > 52) || (clay < 7 && silt < 50))
            }
            Texture::Loam => (7..27).contains(&clay) && (28..50).contains(&silt) && sand <= 52,
            Texture::SiltLoam => {
                (silt >= 50 && (12..27).contains(&clay)) || ((50..80).contains(&silt) && clay < 12)
            }
            Texture::Silt => silt >= 80 && clay < 12,
            Texture::SandyClayLoam => (20..35).contains(&clay) && silt < 28 && sand > 45,
            Texture::ClayLoam => (27..40).contains(&clay) && sand > 20 && sand <= 45,
            Texture::SiltyClayLoam => (27..40).contains(&clay) && sand <= 20,
            Texture::SandyClay => clay >= 35 && sand > 45,
            Texture::SiltyClay => clay >= 40 && silt >= 40,
            Texture::Clay => clay >= 40 && sand <= 45 && silt < 40,
        }
    }

    /// All points of the triangle in whole per cent: each in the one class whose
    /// printed limits hold it, none without one, and so many points a class.
    #[test]
    fn every_point_of_the_triangle_has_its_printed_class() {
        let mut counts = [0_u32; 12];
        for sand in 0..=100 {
            for clay in 0..=100 - sand {
                let silt = 100 - sand - clay;
                let found = Texture::of(f64::from(sand), f64::from(clay)).unwrap();
                let holding: Vec<Texture> = Texture::ALL
                    .into_iter()
                    .filter(|class| printed(*class, sand, silt, clay))
                    .collect();
                assert_eq!(holding, [found], "sand {sand}, silt {silt}, clay {clay}");
                counts[usize::from(found.class())] += 1;
            }
        }
        assert_eq!(
            counts,
            [85, 155, 565, 349, 840, 186, 392, 325, 273, 210, 231, 1540]
        );
        assert_eq!(counts.iter().sum::<u32>(), 5151);
    }

    /// Points in the middle of each class, and on edges: sand, silt, clay.
    #[test]
    fn points_inside_and_on_edges_have_their_class() {
        for (sand, silt, clay, name) in [
            (90.0, 5.0, 5.0, "sand"),
            (85.0, 10.0, 5.0, "loamy sand"),
            (65.0, 25.0, 10.0, "sandy loam"),
            (45.0, 40.0, 15.0, "loam"),
            (20.0, 65.0, 15.0, "silt loam"),
            (7.0, 88.0, 5.0, "silt"),
            (60.0, 15.0, 25.0, "sandy clay loam"),
            (33.0, 34.0, 33.0, "clay loam"),
            (10.0, 57.0, 33.0, "silty clay loam"),
            (52.0, 7.0, 41.0, "sandy clay"),
            (7.0, 47.0, 46.0, "silty clay"),
            (20.0, 20.0, 60.0, "clay"),
            // Edges.
            (70.0, 30.0, 0.0, "sandy loam"),
            (45.0, 35.0, 20.0, "loam"),
            (45.0, 20.0, 35.0, "clay loam"),
        ] {
            assert_eq!(sand + silt + clay, 100.0);
            assert_eq!(
                Texture::of(sand, clay).unwrap().name(),
                name,
                "{sand} {silt} {clay}"
            );
        }
    }

    #[test]
    fn shares_with_decimals_leave_no_gap_and_what_is_no_soil_has_no_class() {
        for sand in 0..=1000_u32 {
            for clay in 0..=1000 - sand {
                let (sand, clay) = (f64::from(sand) / 10.0, f64::from(clay) / 10.0);
                assert!(Texture::of(sand, clay).is_some(), "{sand} {clay}");
            }
        }
        // 0.1 + 0.2 is not 0.3 in binary: an edge stays an edge.
        assert_eq!(Texture::of(85.1 + 0.2 - 0.3, 10.0), Some(Texture::LoamySand));
        for (sand, clay) in [(-1.0, 5.0), (5.0, -1.0), (60.0, 41.0), (f64::NAN, 5.0)] {
            assert_eq!(Texture::of(sand, clay), None);
        }
    }

    #[test]
    fn the_classes_are_those_of_the_factor() {
        let factor = crate::factor::Factor::standard("texture").unwrap();
        let names = Texture::ALL.map(|texture| texture.name().to_owned());
        assert_eq!(factor.kind.classes().unwrap(), names);
        for (number, texture) in (0..).zip(Texture::ALL) {
            assert_eq!(texture.class(), number);
        }
    }
}
