//! The default style of the zones: colours by the number of listed species, as a
//! Styled Layer Descriptor. In comes the largest number, out goes the document.

use std::fmt::Write;

/// Fills from few to many listed species: sand over green to deep blue, each darker
/// than the one before, so that they keep apart for colour-blind readers and in
/// grey print.
pub(super) const COLOURS: [&str; 6] = ["#f4ecd2", "#cfd9ab", "#93c2a2", "#4f989e", "#226586", "#102c56"];
const NONE_LISTED: &str = "#ffffff";
const BORDER: &str = "#4d4d4d";

/// The style for zones of which the richest lists `most` species.
///
/// # Method
/// OGC Styled Layer Descriptor 1.1.0 (05-078r4) with Symbology Encoding 1.1.0
/// (05-077r4).
pub(super) fn listed_species_sld(layer: &str, most: usize) -> String {
    let mut rules = rule("no species listed", 0, 0, NONE_LISTED);
    for ((from, to), colour) in intervals(most) {
        let title = match (from, to) {
            (from, to) if from == to => format!("{from} species listed"),
            (from, to) => format!("{from} to {to} species listed"),
        };
        rules.push_str(&rule(&title, from, to, colour));
    }
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <StyledLayerDescriptor xmlns=\"http://www.opengis.net/sld\" xmlns:se=\"http://www.opengis.net/se\" \
         xmlns:ogc=\"http://www.opengis.net/ogc\" version=\"1.1.0\">\n\
         <NamedLayer>\n<se:Name>{layer}</se:Name>\n<UserStyle>\n<se:Name>listed species</se:Name>\n\
         <se:FeatureTypeStyle>\n{rules}</se:FeatureTypeStyle>\n</UserStyle>\n</NamedLayer>\n\
         </StyledLayerDescriptor>\n"
    )
}

/// At most as many intervals as there are colours, of like width, from 1 to `most`,
/// without gap or overlap; the last one always takes the darkest colour.
fn intervals(most: usize) -> Vec<((usize, usize), &'static str)> {
    if most == 0 {
        return Vec::new();
    }
    let number = COLOURS.len().min(most);
    let end = |interval: usize| most * interval / number;
    (0..number)
        .map(|interval| {
            let colour = COLOURS[COLOURS.len() - number + interval];
            ((end(interval) + 1, end(interval + 1)), colour)
        })
        .collect()
}

fn rule(title: &str, from: usize, to: usize, colour: &str) -> String {
    let mut rule = String::new();
    // Writing to a text cannot fail.
    let _ = write!(
        rule,
        "<se:Rule>\n<se:Name>{title}</se:Name>\n<se:Description><se:Title>{title}</se:Title></se:Description>\n\
         <ogc:Filter><ogc:PropertyIsBetween><ogc:PropertyName>listed</ogc:PropertyName>\
         <ogc:LowerBoundary><ogc:Literal>{from}</ogc:Literal></ogc:LowerBoundary>\
         <ogc:UpperBoundary><ogc:Literal>{to}</ogc:Literal></ogc:UpperBoundary>\
         </ogc:PropertyIsBetween></ogc:Filter>\n\
         <se:PolygonSymbolizer><se:Fill><se:SvgParameter name=\"fill\">{colour}</se:SvgParameter></se:Fill>\
         <se:Stroke><se:SvgParameter name=\"stroke\">{BORDER}</se:SvgParameter>\
         <se:SvgParameter name=\"stroke-width\">0.5</se:SvgParameter></se:Stroke></se:PolygonSymbolizer>\n\
         </se:Rule>\n"
    );
    rule
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance after WCAG 2.1 (W3C 2018).
    fn luminance(colour: &str) -> f64 {
        let channel = |at: usize| {
            let value = f64::from(u8::from_str_radix(&colour[at..at + 2], 16).unwrap()) / 255.0;
            if value <= 0.03928 {
                value / 12.92
            } else {
                ((value + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
    }

    #[test]
    fn colours_keep_apart_by_lightness_alone() {
        for pair in COLOURS.windows(2) {
            let contrast = (luminance(pair[0]) + 0.05) / (luminance(pair[1]) + 0.05);
            assert!(contrast > 1.2, "{pair:?} {contrast}");
        }
    }

    #[test]
    fn every_number_of_species_falls_in_exactly_one_interval() {
        for most in 0..40 {
            let intervals = intervals(most);
            for listed in 1..=most {
                let hits = intervals
                    .iter()
                    .filter(|((from, to), _)| (*from..=*to).contains(&listed));
                assert_eq!(hits.count(), 1, "{listed} of {most}");
            }
        }
    }
}
