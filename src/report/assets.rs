//! Script and style of the page, and the policy that lets a reader's browser run these
//! and nothing else.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use sha2::{Digest, Sha256};

/// The script's files, in the order in which they build on each other.
const SCRIPTS: [&str; 19] = [
    include_str!("script/data.js"),
    include_str!("script/elements.js"),
    include_str!("script/borders.js"),
    include_str!("script/colours.js"),
    include_str!("script/hatching.js"),
    include_str!("script/painting.js"),
    include_str!("script/legend.js"),
    include_str!("script/map.js"),
    include_str!("script/map_input.js"),
    include_str!("script/card.js"),
    include_str!("script/table.js"),
    include_str!("script/zones.js"),
    include_str!("script/charts.js"),
    include_str!("script/calendar.js"),
    include_str!("script/spread.js"),
    include_str!("script/species.js"),
    include_str!("script/species_table.js"),
    include_str!("script/field_sheet.js"),
    include_str!("script/print.js"),
];

/// What is done when all is there.
const START: &str = include_str!("script/start.js");

const STYLES: [&str; 3] = [
    include_str!("style/screen.css"),
    include_str!("style/map.css"),
    include_str!("style/print.css"),
];

/// The script, in a scope of its own.
pub(super) fn script() -> String {
    format!("\"use strict\";\n{{\n{}\n{START}}}\n", SCRIPTS.join("\n"))
}

/// The style.
pub(super) fn style() -> String {
    STYLES.join("\n")
}

/// The content security policy: no network, no script and no style but these.
pub(super) fn policy(script: &str, style: &str) -> String {
    let sum = |text: &str| format!("'sha256-{}'", STANDARD.encode(Sha256::digest(text)));
    format!(
        "default-src 'none'; script-src {}; style-src {}; img-src data: blob:; base-uri 'none'; form-action 'none'",
        sum(script),
        sum(style)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 6234 has the digest of `abc`; its bytes in base64 (RFC 4648).
    #[test]
    fn the_policy_names_the_digests() {
        let policy = policy("abc", "");
        assert!(
            policy.contains("script-src 'sha256-ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0='"),
            "{policy}"
        );
    }

    #[test]
    fn nothing_of_ours_ends_the_script_or_asks_the_network() {
        let (script, style) = (script(), style());
        for word in ["</script", "<!--", "http://", "https://", "fetch(", "import("] {
            let allowed = script.matches("http://www.w3.org/2000/svg").count();
            let found = script.matches(word).count();
            assert_eq!(found, if word == "http://" { allowed } else { 0 }, "{word}");
        }
        assert!(!style.contains("</style") && !style.contains("url("));
    }
}
