//! `cargo x demo`: seeds Gannet Quay, serves it, prints where to look.

use anyhow::{Context, Result};
use clap::Parser;
use simulation::demo::{Demo, DemoOptions, PASSWORD, Pace};
use std::net::SocketAddr;
use std::path::PathBuf;

/// Gannet Quay and the Gannet Hotel, played on the real server
#[derive(Parser)]
struct Arguments {
    /// How many minutes of the night pass in a minute
    #[arg(long, default_value_t = 10)]
    speed: u32,
    /// Where to listen
    #[arg(long, default_value = "127.0.0.1:8090")]
    listen: SocketAddr,
    /// Minutes of the night that are over when the page opens
    #[arg(long, default_value_t = 176)]
    played_min: u32,
    /// Start without sites and watches
    #[arg(long)]
    empty: bool,
    /// Folder of everything that is kept; a new one each time if not given
    #[arg(long)]
    data: Option<PathBuf>,
    /// The program that prints reports
    #[arg(long)]
    printer: Option<PathBuf>,
}

#[tokio::main]
async fn main() -> Result<()> {
    let arguments = Arguments::parse();
    let folder = tempfile::tempdir().context("a folder for the demonstration")?;
    let options = DemoOptions {
        data: arguments.data.unwrap_or_else(|| folder.path().to_owned()),
        listen: arguments.listen,
        web: PathBuf::from("target/web"),
        printer: arguments.printer,
        speed: arguments.speed,
        empty: arguments.empty,
    };
    let mut demo = Demo::start(options).await?;
    let url = demo.url();
    if let Some(link) = &demo.begin_link {
        println!("An empty house. The first account is made here, once: {link}");
        tokio::signal::ctrl_c().await?;
        return Ok(());
    }
    println!("Playing the first {} minutes of the night ...", arguments.played_min);
    demo.play_min(arguments.played_min).await?;
    demo.renew_phone().await?;
    println!("Desk:      {url}/sign-in");
    println!("           name: rosa   password: {PASSWORD}");
    if let Some(path) = &demo.phone_path {
        println!("Phone:     {url}{path}");
        println!(
            "           Sign in at the desk first. The page has a link: open it in another window, as narrow as"
        );
        println!(
            "           a phone, compare the six digits, say yes at the desk, and walk Tern Street School."
        );
    }
    if let Some(link) = &demo.inspector_link {
        println!("Inspector: {link}");
        println!("           Gannet Quay, no account needed.");
    }
    println!(
        "The night goes on at {} times its pace, and at its own once a phone is let in. Invented people and \
         places, no number that can be dialled. Stop with Ctrl-C.",
        arguments.speed
    );
    tokio::select! {
        played = demo.go_on(told) => played,
        stopped = tokio::signal::ctrl_c() => Ok(stopped?),
    }
}

fn told(pace: Pace) {
    match pace {
        Pace::Slower(kept) => println!("This machine keeps about {kept} times the night's pace."),
        Pace::Visitor => {
            println!("A phone was let in. From now on the night goes on at its own pace.");
        }
        Pace::Otherwise(says) => println!("Not as it was to be, and the night goes on: {says}"),
    }
}
