//! Reads a GeoJSON file again and counts its features, without keeping any of them.

use std::fmt;
use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::Path;

use serde::Deserialize;
use serde::de::{Deserializer, Error as _, IgnoredAny, SeqAccess, Visitor};

use super::OutputError;

/// Bytes that are read at a time.
const BYTES_AT_ONCE: usize = 1 << 18;

/// Counts the features of a collection. Each must be a whole feature with a polygon of
/// closed rings, and what is around them a whole collection.
///
/// # Method
/// No line ends within a text of JSON, so a feature that has a line of its own can be
/// read by itself: what is left without these lines must be a collection, and each but
/// the last must end with a comma.
///
/// # Errors
/// The file cannot be read or is something else.
pub(super) fn count_features(path: &Path) -> Result<u64, OutputError> {
    let file = File::open(path).map_err(OutputError::read(path))?;
    let failed = |reason| OutputError::Read {
        path: path.to_owned(),
        reason,
    };
    let mut reader = BufReader::with_capacity(BYTES_AT_ONCE, file);
    let (mut frame, mut line) = (Vec::new(), Vec::new());
    let (mut count, mut ends_with_comma) = (0, false);
    for number in 1.. {
        line.clear();
        let read = reader.read_until(b'\n', &mut line);
        if read.map_err(OutputError::read(path))? == 0 {
            break;
        }
        let text = line.trim_ascii();
        let is_feature = frame.trim_ascii_end().ends_with(b"[") && text.starts_with(b"{");
        if !is_feature {
            frame.extend_from_slice(&line);
            continue;
        }
        if count > 0 && !ends_with_comma {
            return Err(failed(format!("no comma before the feature in line {number}")));
        }
        let (text, comma) = match text.strip_suffix(b",") {
            Some(text) => (text, true),
            None => (text, false),
        };
        let text = std::str::from_utf8(text).map_err(|error| failed(format!("line {number}: {error}")))?;
        let whole = serde_json::from_str::<Feature>(text);
        whole.map_err(|error| failed(format!("line {number}: {error}")))?;
        ends_with_comma = comma;
        count += 1;
    }
    if ends_with_comma {
        return Err(failed("a comma after the last feature".to_owned()));
    }
    let collection: Collection = serde_json::from_slice(&frame).map_err(|error| failed(error.to_string()))?;
    if count > 0 && collection.features > 0 {
        return Err(failed("features with and without a line of their own".to_owned()));
    }
    if collection.kind == "FeatureCollection" {
        Ok(count + collection.features)
    } else {
        Err(failed(format!(
            "it is a {}, no FeatureCollection",
            collection.kind
        )))
    }
}

/// The members of a collection that are counted; the rest is passed over.
#[derive(Deserialize)]
struct Collection {
    #[serde(rename = "type")]
    kind: String,
    #[serde(deserialize_with = "count_elements")]
    features: u64,
}

/// The members that a feature must have; the rest is passed over.
#[derive(Deserialize)]
#[expect(dead_code, reason = "it is enough that they can be read")]
struct Feature<'a> {
    #[serde(rename = "type", borrow, deserialize_with = "feature_word")]
    kind: &'a str,
    #[serde(borrow)]
    geometry: Geometry<'a>,
    properties: IgnoredAny,
}

#[derive(Deserialize)]
#[expect(dead_code, reason = "it is enough that they can be read")]
struct Geometry<'a> {
    #[serde(rename = "type", borrow, deserialize_with = "polygon_word")]
    kind: &'a str,
    coordinates: Vec<Ring>,
}

fn feature_word<'de, D: Deserializer<'de>>(deserializer: D) -> Result<&'de str, D::Error> {
    word(deserializer, "Feature")
}

fn polygon_word<'de, D: Deserializer<'de>>(deserializer: D) -> Result<&'de str, D::Error> {
    word(deserializer, "Polygon")
}

fn word<'de, D: Deserializer<'de>>(deserializer: D, needed: &str) -> Result<&'de str, D::Error> {
    let found = <&str>::deserialize(deserializer)?;
    if found == needed {
        Ok(found)
    } else {
        Err(D::Error::custom(format!("found a {found}, needed a {needed}")))
    }
}

/// A closed ring of four points or more.
struct Ring;

impl<'de> Deserialize<'de> for Ring {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Ring, D::Error> {
        struct Points;
        impl<'de> Visitor<'de> for Points {
            type Value = Ring;

            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str("a closed ring of points")
            }

            fn visit_seq<A: SeqAccess<'de>>(self, mut points: A) -> Result<Ring, A::Error> {
                let first: Option<[f64; 2]> = points.next_element()?;
                let (mut last, mut count) = (first, 1);
                while let Some(point) = points.next_element()? {
                    last = Some(point);
                    count += 1;
                }
                if count >= 4 && first == last {
                    Ok(Ring)
                } else {
                    Err(A::Error::custom(format!(
                        "a ring of {count} points, a closed one of 4 or more is needed"
                    )))
                }
            }
        }
        deserializer.deserialize_seq(Points)
    }
}

/// Reads one feature after the other, each as a whole, and keeps none.
fn count_elements<'de, D: Deserializer<'de>>(deserializer: D) -> Result<u64, D::Error> {
    struct Count;
    impl<'de> Visitor<'de> for Count {
        type Value = u64;

        fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
            f.write_str("a list of features")
        }

        fn visit_seq<A: SeqAccess<'de>>(self, mut features: A) -> Result<u64, A::Error> {
            let mut count = 0;
            while features.next_element::<Feature>()?.is_some() {
                count += 1;
            }
            Ok(count)
        }
    }
    deserializer.deserialize_seq(Count)
}

#[cfg(test)]
mod tests {
    use super::*;

    const FEATURE: &str = r#"{"type":"Feature","id":"a","geometry":{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,0]]]},"properties":{"text":"a [\"b\"] \u00e9","list":[]}}"#;

    fn count(text: &str) -> Result<u64, String> {
        let file = tempfile::NamedTempFile::new().unwrap();
        std::fs::write(file.path(), text).unwrap();
        count_features(file.path()).map_err(|error| error.to_string())
    }

    fn lines(features: &str) -> String {
        format!("{{\"type\":\"FeatureCollection\",\"bbox\":[0,0,1,1],\"features\":[{features}\n]}}\n")
    }

    #[test]
    fn features_are_counted_in_lines_or_without() {
        assert_eq!(count(&lines("")), Ok(0));
        assert_eq!(
            count(&lines(&format!("\n{FEATURE},\n{FEATURE},\n{FEATURE}"))),
            Ok(3)
        );
        let in_one = lines(&format!("{FEATURE},{FEATURE}")).replace('\n', "");
        assert_eq!(count(&in_one), Ok(2));
    }

    #[test]
    fn what_is_not_whole_is_refused() {
        let whole = lines(&format!("\n{FEATURE},\n{FEATURE}"));
        for end in 0..whole.trim_end().len() {
            assert!(count(&whole[..end]).is_err(), "{}", &whole[..end]);
        }
        for (from, to) in [
            (",\n{", "\n{"),
            ("}\n]", "},\n]"),
            ("[[0,0],", "[[0,2],"),
            ("[[0,0],[1,0],", "[[0,0],"),
            ("\"Polygon\"", "\"Point\""),
            ("\"Feature\"", "\"Thing\""),
            ("FeatureCollection", "Collection"),
            ("\"properties\"", "\"other\""),
            ("\"list\":[]", "\"list\":[}"),
        ] {
            let changed = whole.replace(from, to);
            assert!(changed != whole && count(&changed).is_err(), "{from} {to}");
        }
        let mut bytes = whole.into_bytes();
        let at = bytes.iter().position(|&byte| byte == b'b').unwrap();
        bytes[at] = 0xff;
        let file = tempfile::NamedTempFile::new().unwrap();
        std::fs::write(file.path(), bytes).unwrap();
        assert!(count_features(file.path()).is_err());
    }
}
