//! The few parts of a Markdown document that tests look at: tables under headings,
//! blocks of code, code within lines, links. Knows no document.

/// The cells of the rows of the first table under a heading, its head left out.
pub fn table_under(document: &str, heading: &str) -> Vec<Vec<String>> {
    let lines = document.lines().skip_while(|line| line.trim() != heading);
    let table = lines
        .skip(1)
        .take_while(|line| !line.starts_with('#'))
        .skip_while(|line| !line.starts_with('|'))
        .take_while(|line| line.starts_with('|'));
    let rows: Vec<Vec<String>> = table.skip(2).map(cells).collect();
    assert!(!rows.is_empty(), "no table under \"{heading}\"");
    rows
}

fn cells(line: &str) -> Vec<String> {
    let inner = line.trim().trim_matches('|');
    inner.split('|').map(|cell| cell.trim().to_owned()).collect()
}

/// The document without its blocks of code.
pub fn prose(document: &str) -> String {
    let mut in_block = false;
    let mut prose = String::new();
    for line in document.lines() {
        if line.trim_start().starts_with("```") {
            in_block = !in_block;
        } else if !in_block {
            prose.push_str(line);
            prose.push('\n');
        }
    }
    prose
}

/// What stands between backquotes.
pub fn code_within(text: &str) -> Vec<String> {
    text.split('`').skip(1).step_by(2).map(str::to_owned).collect()
}

/// The targets of links, those to other hosts and within the document left out.
pub fn links(text: &str) -> Vec<String> {
    let targets = text.split("](").skip(1).filter_map(|rest| rest.split(')').next());
    let targets = targets.filter(|target| !target.contains("://") && !target.starts_with('#'));
    targets
        .map(|target| target.split('#').next().unwrap_or(target).to_owned())
        .collect()
}
