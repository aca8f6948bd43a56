//! `rattlewatch export` and `rattlewatch move` on the folder of a real server.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A folder with the demonstration watch in it, and the id of that watch.
struct House {
    folder: tempfile::TempDir,
    runtime: tokio::runtime::Runtime,
    running: Option<server::Running>,
    watch: String,
}

impl House {
    fn new() -> House {
        let folder = tempfile::tempdir().unwrap();
        let runtime = tokio::runtime::Runtime::new().unwrap();
        let (running, watch) = runtime.block_on(async {
            let options = server::Options::in_folder(&folder.path().join("data"));
            let running = server::serve(options).await.unwrap();
            let demo = server::demo::seed(&running.app).await.unwrap().unwrap();
            (running, demo.watch_path.rsplit('/').next().unwrap().to_owned())
        });
        House { folder, runtime, running: Some(running), watch }
    }

    fn stop(&mut self) {
        self.runtime.block_on(self.running.take().unwrap().stop());
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn export(&self, watch: &str, file: &str, more: &[&str]) -> Output {
        let mut args = vec!["export", watch, "-o", file, "--data", "data"];
        args.extend(more);
        self.run(&args)
    }

    fn run(&self, args: &[&str]) -> Output {
        let mut program = Command::new(env!("CARGO_BIN_EXE_rattlewatch"));
        program.args(args).current_dir(self.folder.path()).output().unwrap()
    }

    /// The verdict on a bundle, which must hold.
    fn holds(&self, file: &str) -> serde_json::Value {
        let done = self.run(&["verify", "--json", file]);
        let verdict: serde_json::Value = serde_json::from_slice(&done.stdout).unwrap();
        assert_eq!(verdict["faults"], serde_json::json!([]), "{file}");
        assert_eq!(done.status.code(), Some(0));
        verdict
    }
}

fn says(output: &Output) -> String {
    String::from_utf8_lossy(&[output.stdout.as_slice(), &output.stderr].concat()).into_owned()
}

#[test]
fn a_watch_is_taken_out_with_and_without_a_server() {
    let mut house = House::new();
    let watch = house.watch.clone();
    let beside = house.export(&watch, "beside.zip", &[]);
    assert_eq!(beside.status.code(), Some(0), "{}", says(&beside));
    let before = house.holds("beside.zip")["lines"].as_u64().unwrap();
    house.stop();

    let alone = house.export(&watch, "alone.zip", &[]);
    assert_eq!(alone.status.code(), Some(0), "{}", says(&alone));
    let after = house.holds("alone.zip")["lines"].as_u64().unwrap();
    // The export itself and a new seal.
    assert!(after >= before + 2, "the export itself and a new seal: {before}, {after}");
    assert!(!leftovers(house.folder.path()), "no half-written file is left");
}

#[test]
fn what_cannot_be_taken_out_is_said_with_what_to_do() {
    let mut house = House::new();
    house.stop();
    let watch = house.watch.clone();
    // Ids are drawn: the last digit must be another one, whatever it is.
    let other = if watch.ends_with('0') { '1' } else { '0' };
    let wrong = format!("{}{other}", &watch[..watch.len() - 1]);
    for (done, expected) in [
        (house.export(&wrong, "a.zip", &[]), format!("Nearest: {watch}")),
        (house.export("org", "a.zip", &[]), "there is no watch org".to_owned()),
        (house.export("No Such", "a.zip", &[]), "is no id of a watch".to_owned()),
        (
            house.run(&["export", &watch, "-o", "a.zip", "--data", "nowhere"]),
            "nowhere: no record is kept here".to_owned(),
        ),
    ] {
        assert_eq!(done.status.code(), Some(2), "{}", says(&done));
        assert!(says(&done).contains(&expected), "{} does not say {expected}", says(&done));
    }
    assert!(!house.path("a.zip").exists() && !house.path("nowhere").exists());
    std::fs::write(house.path("b.zip"), b"mine").unwrap();
    let over = house.export(&watch, "b.zip", &[]);
    assert_eq!(over.status.code(), Some(2), "{}", says(&over));
    assert_eq!(std::fs::read(house.path("b.zip")).unwrap(), b"mine");
}

#[test]
fn a_moved_record_has_the_same_roots() {
    let mut house = House::new();
    let watch = house.watch.clone();
    let running = house.run(&["move", "--data", "data", "--to", "sqlite:moved.db"]);
    assert_eq!(running.status.code(), Some(2), "{}", says(&running));
    assert!(says(&running).contains("stop it first"), "{}", says(&running));
    house.stop();
    house.export(&watch, "before.zip", &[]);
    let _ = std::fs::remove_file(house.path("moved.db"));
    let moved = house.run(&["move", "--data", "data", "--to", "sqlite:moved.db"]);
    assert_eq!(moved.status.code(), Some(0), "{}", says(&moved));
    let taken = house.export(&watch, "after.zip", &["--database", "sqlite:moved.db"]);
    assert_eq!(taken.status.code(), Some(0), "{}", says(&taken));
    // The export and a new seal stand after what was moved.
    let lines = |file| house.holds(file)["lines"].as_u64().unwrap();
    assert!(lines("after.zip") >= lines("before.zip") + 2);
    let again = house.run(&["move", "--data", "data", "--to", "sqlite:moved.db"]);
    assert_eq!(again.status.code(), Some(2), "{}", says(&again));
    // The record went on where it was moved to: what stayed behind is an old copy of it.
    assert!(says(&again).contains("old copy"), "{}", says(&again));
}

fn leftovers(folder: &Path) -> bool {
    let names = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    names.into_iter().any(|path| path.extension().is_some_and(|ending| ending == "part"))
}
