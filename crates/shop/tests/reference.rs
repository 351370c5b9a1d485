//! The reference of all keys that people read is the table of keys that the decoder reads.

use expect_test::expect_file;

#[test]
fn the_printed_reference_is_the_table_of_keys() {
    let head = "# Keys of shop file, job file, stop report and scenario file\n\n\
                Written from the table of keys in crate `shop`; values in examples are invented. Numbers that have a \
                unit carry it, in quotes: `\"3 mm\"`, `\"1/4 in\"`, `\"95 in/min\"`, `\"6 bar\"`.\n\n";
    let files: Vec<_> = shop::keys().iter().map(|file| file.reference()).collect();
    let below = files.join("\n").replace("\n## ", "\n### ").replace("# Keys of the ", "## The ");
    expect_file!["../../../docs/keys.md"].assert_eq(&format!("{head}{below}"));
}
