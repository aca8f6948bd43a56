//! The manual pages say what the program says of itself.

use std::process::Command;

fn said(arguments: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_rattlewatch")).args(arguments).output().unwrap();
    assert!(output.status.success(), "{arguments:?}");
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn every_command_that_help_lists_has_its_page() {
    let folder = tempfile::tempdir().unwrap();
    said(&["man", folder.path().join("man").to_str().unwrap()]);
    let page = |name: &str| std::fs::read_to_string(folder.path().join("man").join(name)).unwrap();
    let help = said(&["--help"]);
    let listed = help.lines().skip_while(|line| *line != "Commands:").skip(1);
    let commands: Vec<&str> = listed
        .take_while(|line| !line.is_empty())
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert!(commands.len() > 10 && !commands.contains(&"man"), "{commands:?}");
    for command in commands.iter().filter(|command| **command != "help") {
        assert!(page(&format!("rattlewatch-{command}.1")).contains(".TH"), "{command}");
        assert!(page("rattlewatch.1").contains(&command.replace('-', "\\-")), "{command}");
    }
    assert!(page("rattlewatch-verify.1").contains("\\-\\-log\\-key"));
}
