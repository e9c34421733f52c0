//! Every sample vehicle is read without an error, and its summary is looked at.

use halfsplit::feeds;

#[test]
fn each_is_sound() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = vec![root.join("tests/quarto.ron")];
    if let Ok(entries) = std::fs::read_dir(root.join("sample-vehicles")) {
        files.extend(entries.map(|entry| entry.unwrap().path()));
    }
    files.retain(|file| file.extension().is_some_and(|e| e == "ron"));
    files.sort();
    for file in files {
        let text = std::fs::read_to_string(&file).unwrap();
        // Instruments and cases lie beside the vehicles.
        if !text.contains("Vehicle(") {
            continue;
        }
        let (feeds, problems) = feeds::load(&text);
        assert!(
            problems.iter().all(|p| !p.is_error()),
            "{file:?}: {problems:#?}"
        );
        let name = file.file_stem().unwrap().to_string_lossy().into_owned();
        insta::assert_debug_snapshot!(name, feeds.unwrap().summary());
    }
}
