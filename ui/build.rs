//! Compiles `app.slint`, with its translations.

fn main() {
    let for_tests = std::env::var("PROFILE").as_deref() == Ok("debug");
    let config = slint_build::CompilerConfiguration::new()
        .with_style("fluent".into())
        .with_bundled_translations("lang")
        .with_default_translation_context(slint_build::DefaultTranslationContext::None)
        .with_debug_info(for_tests);
    slint_build::compile_with_config("app.slint", config).expect("app.slint compiles");
}
