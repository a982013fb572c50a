//! Compiles `ui/app.slint` when the `app` feature is on, and lays the library out for Android's larger pages.

fn main() {
    // Newer phones map files in pages of 16 KB and refuse a library that is laid out for 4.
    if std::env::var("CARGO_CFG_TARGET_OS").as_deref() == Ok("android") {
        println!("cargo::rustc-link-arg-cdylib=-Wl,-z,max-page-size=16384");
    }
    #[cfg(feature = "app")]
    {
        let for_tests = std::env::var("PROFILE").as_deref() == Ok("debug");
        // A phrase is the same wherever it stands: the translations carry no context of their own.
        let config = slint_build::CompilerConfiguration::new()
            .with_style("fluent".into())
            .with_bundled_translations("ui/lang")
            .with_default_translation_context(slint_build::DefaultTranslationContext::None)
            .with_debug_info(for_tests);
        slint_build::compile_with_config("ui/app.slint", config).expect("ui/app.slint compiles");
    }
}
