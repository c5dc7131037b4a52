//! Compiles the generated parser.

fn main() {
    let mut build = cc::Build::new();
    build.std("c11").include("src").warnings(false);
    for file in ["src/parser.c", "src/scanner.c"] {
        build.file(file);
        println!("cargo:rerun-if-changed={file}");
    }
    println!("cargo:rerun-if-changed=src/words.h");
    build.compile("tree-sitter-office");
}
