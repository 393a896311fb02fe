//! Numbers as spreadsheets write them: with a decimal point, or with a decimal
//! comma where semicolons part the columns, but never both in one file.

/// Reads the numbers of one file and remembers its decimal mark.
#[derive(Debug, Clone)]
pub struct Numbers {
    comma_allowed: bool,
    line: u64,
    seen: Option<(char, u64)>,
}

impl Numbers {
    /// Numbers with decimal points only.
    #[must_use]
    pub fn with_points() -> Numbers {
        Numbers {
            comma_allowed: false,
            line: 1,
            seen: None,
        }
    }

    /// Numbers of a file whose columns are parted by `separator`.
    #[must_use]
    pub(in crate::species) fn of_file(separator: char) -> Numbers {
        Numbers {
            comma_allowed: separator == ';',
            ..Numbers::with_points()
        }
    }

    /// Tells the line that is read now.
    pub(in crate::species) fn at_line(&mut self, line: u64) {
        self.line = line;
    }

    /// The number so written, or what is wrong with it.
    pub(in crate::species) fn parse(&mut self, text: &str) -> Result<f64, String> {
        let text = text.trim();
        let (comma, point) = (text.contains(','), text.contains('.'));
        if comma && point {
            return Err(format!(
                "`{text}` has a comma and a point: write it without marks between thousands"
            ));
        }
        if comma && !self.comma_allowed {
            return Err(format!(
                "`{text}` has a decimal comma: write a point, or part the columns with semicolons"
            ));
        }
        let number: f64 = text
            .replace(',', ".")
            .parse()
            .map_err(|_| format!("`{text}` is not a number"))?;
        if !number.is_finite() {
            return Err(format!("`{text}` is not a finite number"));
        }
        if comma || point {
            let mark = if comma { ',' } else { '.' };
            match self.seen {
                Some((other, line)) if other != mark => {
                    return Err(format!(
                        "`{text}` has a decimal {}, line {line} a decimal {}: use one of them in the whole file",
                        name(mark),
                        name(other)
                    ));
                }
                Some(_) => {}
                None => self.seen = Some((mark, self.line)),
            }
        }
        Ok(number)
    }
}

fn name(mark: char) -> &'static str {
    if mark == ',' { "comma" } else { "point" }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_decimal_comma_needs_semicolons_between_columns() {
        assert_eq!(Numbers::of_file(';').parse("4,5"), Ok(4.5));
        assert!(
            Numbers::of_file(',')
                .parse("4,5")
                .unwrap_err()
                .contains("semicolons")
        );
        assert!(Numbers::of_file('\t').parse("4,5").is_err());
    }

    #[test]
    fn comma_and_point_do_not_mix() {
        let mut numbers = Numbers::of_file(';');
        numbers.at_line(3);
        assert_eq!(numbers.parse("4,5"), Ok(4.5));
        numbers.at_line(8);
        assert_eq!(numbers.parse("7"), Ok(7.0));
        assert!(numbers.parse("4.5").unwrap_err().contains("line 3"));
        assert!(numbers.parse("1.234,5").is_err());
    }

    #[test]
    fn only_finite_numbers_count() {
        for text in ["inf", "NaN", "1e999", "", "4 5", "0x10"] {
            assert!(Numbers::with_points().parse(text).is_err(), "{text}");
        }
        assert_eq!(Numbers::with_points().parse(" -1e-3 "), Ok(-0.001));
    }
}
