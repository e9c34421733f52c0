//! Every sample vehicle is read without an error, and its summary is looked at.

use halfsplit::{feeds, render};

#[test]
fn each_is_sound() {
    insta::glob!("../../sample-vehicles", "*.ron", |file| {
        let text = std::fs::read_to_string(file).unwrap();
        let (feeds, problems) = feeds::load(&text);
        assert!(problems.is_empty(), "{file:?}: {problems:#?}");
        let summary = render::check(&feeds.unwrap(), 60);
        let widest = summary.lines().map(|line| line.chars().count()).max();
        assert!(widest <= Some(60), "{file:?}: {summary}");
        insta::assert_snapshot!(summary);
    });
}

/// What the README shows is what the program prints.
#[test]
fn the_readme_tells_the_truth() {
    trycmd::TestCases::new()
        .env("TERM", "xterm")
        .env("COLUMNS", "80")
        .case("README.md");
}
