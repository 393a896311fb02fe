//! The words in which levels are recorded, in their order.

/// A list of words from the least to the most.
macro_rules! ladder {
    ($(#[$doc:meta])* $name:ident { $($(#[$step_doc:meta])* $step:ident = $word:literal,)+ }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        pub(in crate::species) enum $name {
            $($(#[$step_doc])* $step,)+
        }

        impl $name {
            /// All steps, the least first.
            pub(in crate::species) const ALL: &[$name] = &[$($name::$step,)+];

            /// The step as written in catalogues.
            pub(in crate::species) fn word(self) -> &'static str {
                match self {
                    $($name::$step => $word,)+
                }
            }

            /// The step so written, letter case aside.
            pub(in crate::species) fn from_word(word: &str) -> Option<$name> {
                $name::ALL.iter().copied().find(|step| step.word().eq_ignore_ascii_case(word.trim()))
            }
        }
    };
}

ladder! {
    /// How much of something a plant stands.
    Level { None = "none", Low = "low", Medium = "medium", High = "high", }
}

ladder! {
    /// How much shade a plant stands.
    Shade { Intolerant = "intolerant", Intermediate = "intermediate", Tolerant = "tolerant", }
}

ladder! {
    /// Wetland indicator status: how often a plant grows in wetlands of its region.
    Status {
        /// Almost never.
        Upl = "UPL",
        /// Seldom.
        Facu = "FACU",
        /// As often as not.
        Fac = "FAC",
        /// Mostly.
        Facw = "FACW",
        /// Almost always.
        Obl = "OBL",
    }
}

ladder! {
    /// How much air-borne road salt twigs and leaves stand.
    SprayLevel { Low = "low", Moderate = "moderate", High = "high", VeryHigh = "very high", }
}

ladder! {
    /// Light in which people plant, from the brightest.
    Light { FullSun = "full sun", PartSun = "part sun", PartShade = "part shade", Shade = "shade", }
}

ladder! {
    /// The trade's scale of moisture.
    Moisture { Dry = "dry", DryMesic = "dry-mesic", Mesic = "mesic", WetMesic = "wet-mesic", Wet = "wet", }
}

/// The two ends of `dry to mesic`, or a single word twice; nothing where a word is
/// none of the ladder's or the ends are the wrong way round.
pub(in crate::species) fn span<T: Copy + PartialOrd>(
    text: &str,
    from_word: impl Fn(&str) -> Option<T>,
) -> Option<(T, T)> {
    let (from, to) = text.split_once(" to ").unwrap_or((text, text));
    let (from, to) = (from_word(from)?, from_word(to)?);
    (from <= to).then_some((from, to))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_span_has_its_ends_in_order() {
        let read = |text| span(text, Moisture::from_word);
        assert_eq!(
            read("dry to wet-mesic"),
            Some((Moisture::Dry, Moisture::WetMesic))
        );
        assert_eq!(read("Mesic"), Some((Moisture::Mesic, Moisture::Mesic)));
        assert_eq!(read("wet to dry"), None);
        assert_eq!(read("damp"), None);
    }
}
