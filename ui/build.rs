//! Compiles `ui/app.slint` when the `app` feature is on; does nothing otherwise.

fn main() {
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
