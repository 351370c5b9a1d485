//! Reads a plate from a shop or job file: a size as text, or a table with an outline.

use crate::PlateOutline;
use crate::decode::{Reader, of_parse_error};

/// The plate under the key `name`.
pub(crate) fn read(reader: &Reader<'_, '_>, name: &str) -> Option<PlateOutline> {
    if reader.is_table(name) {
        return outline(&reader.table(name)?);
    }
    let text = reader.text(name)?;
    match text.parse() {
        Ok(plate) => Some(plate),
        Err(error) => {
            reader.sink().add(of_parse_error(reader.span(name), &error));
            None
        }
    }
}

fn outline(table: &Reader<'_, '_>) -> Option<PlateOutline> {
    let ring = table.points("outline");
    let holes = table.rings("holes").unwrap_or_default().into_iter().map(|(ring, _)| ring).collect();
    match PlateOutline::new(ring?, holes) {
        Ok(plate) => Some(plate),
        Err(fault) => {
            table.sink().error(
                "value-unfit",
                table.span("outline"),
                format!("the outline {}", fault.text()),
                "write the corners in order around the plate, each once".into(),
            );
            None
        }
    }
}
