//! `serve`: the page beside the table.

use crate::args::ServeArgs;
use crate::error::{Error, read};
use crate::exit::Exit;
use crate::screen::{Screen, Tone};
use ledger::Ledger;
use std::fs::{self, OpenOptions};
use std::io::{self, Write as _};
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use web::{Listening, Options, Passphrase};

/// What was entered.
const LEDGER: &str = "ledger.db";
/// The secret that sessions and forms are made from.
const SECRET: &str = "secret";
/// The hash of the passphrase.
const PASSPHRASE: &str = "passphrase";

/// Runs the command, until it is told to end.
pub(crate) fn run(args: &ServeArgs, screen: &mut Screen<'_>) -> Result<Exit, Error> {
    let folder = &args.folder;
    fs::create_dir_all(folder).map_err(|why| unkept(folder, why))?;
    if args.new_passphrase {
        choose_passphrase(folder, screen)?;
    }
    let passphrase = args.listen.map(|_| passphrase(folder)).transpose()?;
    let ledger = Ledger::open(&folder.join(LEDGER)).map_err(Error::Ledger)?;
    let options =
        Options { ledger, shop: args.shop.clone(), secret: secret(folder)?, passphrase, blink: web::BLINK };
    let address = SocketAddr::new(args.listen.unwrap_or(IpAddr::V4(Ipv4Addr::LOCALHOST)), args.port);
    web::serve(options, address, |listening| tell(&listening, args, screen)).map_err(Error::Page)?;
    screen.line("The page is closed. What was entered is kept.");
    Ok(Exit::CLEAN)
}

fn tell(listening: &Listening, args: &ServeArgs, screen: &mut Screen<'_>) {
    let address = screen.toned(Tone::Heading, &listening.address);
    screen.line(&format!("The page is at {address}"));
    if let Some(square) = &listening.square {
        screen.line("On a phone of the shop's network, point its camera here:");
        screen.line(square);
    }
    let shop = args.shop.display();
    screen.paragraph(
        &format!("What is entered is kept in {}; the shop file is {shop}.", args.folder.display()),
        0,
    );
    screen.line("End it with Ctrl-C.");
    screen.flush();
}

/// Asks for a new passphrase and keeps its hash.
fn choose_passphrase(folder: &Path, screen: &mut Screen<'_>) -> Result<(), Error> {
    screen.line("A passphrase for phones on the shop's network, eight letters or more; then Enter:");
    screen.flush();
    let mut text = String::new();
    io::stdin().read_line(&mut text).map_err(|why| Error::Unread {
        role: "the passphrase",
        path: PathBuf::from("-"),
        why,
    })?;
    let passphrase = Passphrase::new(text.trim_end_matches(['\r', '\n']))
        .map_err(|why| Error::usage(why.to_string(), "run the command again and choose a longer one"))?;
    let path = folder.join(PASSPHRASE);
    let _ = fs::remove_file(&path);
    keep(&path, passphrase.hash().as_bytes())
}

fn passphrase(folder: &Path) -> Result<Passphrase, Error> {
    let path = folder.join(PASSPHRASE);
    if !path.exists() {
        return Err(Error::usage(
            "a page that is open to the network needs a passphrase",
            "choose one by adding --new-passphrase; it is asked for once",
        ));
    }
    let hash = String::from_utf8(read("the passphrase", &path)?).unwrap_or_default();
    Passphrase::of_hash(&hash).ok_or_else(|| Error::NotFit {
        role: "the passphrase",
        path,
        what: "it holds no hash of a passphrase".to_owned(),
        remedy: "choose a new one by adding --new-passphrase".to_owned(),
    })
}

/// The secret of this folder, made when it is first asked for.
fn secret(folder: &Path) -> Result<Vec<u8>, Error> {
    let path = folder.join(SECRET);
    if !path.exists() {
        keep(&path, &web::new_secret())?;
    }
    let secret = read("the secret of the page", &path)?;
    if secret.len() == web::new_secret().len() {
        return Ok(secret);
    }
    Err(Error::NotFit {
        role: "the secret of the page",
        path,
        what: "it is not as long as it was made".to_owned(),
        remedy: "remove the file; a new one is made, and pages loaded before must be loaded again".to_owned(),
    })
}

/// Writes a new file that nobody else may read.
fn keep(path: &Path, bytes: &[u8]) -> Result<(), Error> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt as _;
        options.mode(0o600);
    }
    let written = options.open(path).and_then(|mut file| {
        file.write_all(bytes)?;
        file.sync_all()
    });
    written.map_err(|why| unkept(path, why))
}

fn unkept(path: &Path, why: io::Error) -> Error {
    Error::Unkept { path: path.to_path_buf(), why }
}
