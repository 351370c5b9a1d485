//! The page, served from a folder of its own.

use ledger::Ledger;
use std::path::PathBuf;
use std::sync::mpsc::channel;
use tempfile::TempDir;
use web::Options;

/// The demo plate.
pub(crate) const PROGRAM: &[u8] = include_bytes!("../../../../demo/post-bases/program.nc");
/// The demo shop.
pub(crate) const SHOP: &str = include_str!("../../../../demo/post-bases/shop.toml");

/// A page that is being served until the test ends.
pub(crate) struct Served {
    pub(crate) folder: TempDir,
    /// The address of the plates.
    pub(crate) address: String,
}

impl Served {
    /// The page of a shop.
    pub(crate) fn new(shop: &str) -> Self {
        Self::started(shop, web::BLINK)
    }

    /// One that holds no page back: every work that is not through yet is told of, however fast the machine is.
    pub(crate) fn at_once(shop: &str) -> Self {
        Self::started(shop, std::time::Duration::ZERO)
    }

    fn started(shop: &str, blink: std::time::Duration) -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("shop.toml"), shop).unwrap();
        let options = Options {
            ledger: Ledger::open(&folder.path().join("ledger.db")).unwrap(),
            shop: folder.path().join("shop.toml"),
            secret: b"of a test".to_vec(),
            passphrase: None,
            blink,
        };
        let (tell, told) = channel();
        std::thread::spawn(move || {
            let any_port = ([127, 0, 0, 1], 0).into();
            web::serve(options, any_port, |listening| tell.send(listening.address).unwrap()).unwrap();
        });
        Self { folder, address: told.recv().unwrap() }
    }

    /// A program as a file, to be dropped.
    pub(crate) fn program(&self, name: &str, text: &[u8]) -> PathBuf {
        let file = self.folder.path().join(name);
        std::fs::write(&file, text).unwrap();
        file
    }
}
