//! The shop file that a new shop begins with.

/// A commented shop file to begin with. It parses without findings and tells nothing: every fact in it is an example
/// with an invented value behind a `#`, to be put in place from the shop's own manuals.
#[must_use]
pub const fn starter() -> &'static str {
    include_str!("starter.toml")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Kind, SHOP, Shop};

    /// The starter with every example put in force.
    fn all_in_force() -> String {
        let line = |line: &str| match line.strip_prefix('#') {
            Some(example) if !example.is_empty() && !example.starts_with(' ') => format!("{example}\n"),
            _ => format!("{line}\n"),
        };
        starter().lines().map(line).collect()
    }

    #[test]
    fn tells_nothing_as_it_stands() {
        assert_eq!(Shop::parse(starter()), (Shop::unknown(), vec![]));
    }

    #[test]
    fn parses_clean_with_every_example_in_force() {
        let (shop, findings) = Shop::parse(&all_in_force());
        assert_eq!(findings, vec![]);
        assert_eq!(shop.processes[0].chart.rows().len(), 2);
        assert_eq!(shop.stock.len(), 2);
    }

    #[test]
    fn holds_every_key_of_the_shop_file() {
        let text = all_in_force();
        for key in SHOP.keys.iter().filter(|key| key.name() != "*") {
            let found = match key.kind {
                Kind::Tables => text.contains(&format!("[[{}]]", key.path)),
                _ if key.table() == "" && matches!(key.kind, Kind::Table) => {
                    text.contains(&format!("[{}]", key.path)) || text.contains(&format!("[{}.", key.path))
                }
                _ => {
                    text.contains(&format!("{} = ", key.name())) || text.contains(&format!("[{}]", key.path))
                }
            };
            assert!(found, "the starter must show `{}`", key.path);
        }
    }
}
