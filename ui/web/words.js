// What the page itself says, outside the app's screens, in the languages of the app.
const WORDS = {
    en: {
        elsewhere: "Pegwise is open in another tab or window.",
        moved: "Pegwise goes on in another tab or window.",
        here: "Use it here",
        newVersion: "A new version is ready. What you are doing is kept.",
        startNew: "Start it now",
        later: "Later",
        mayVanish: "This browser may clear what you keep here when it needs room. Keep a copy outside it.",
        copy: "Save a copy",
        close: "Close",
        fell: "Pegwise has stopped. What you entered is kept.",
        again: "Start again",
        cannot: "This browser cannot show Pegwise: it needs WebAssembly and WebGL.",
        unfetched: "It could not be fetched. Look whether there is a network, then start again.",
    },
    de: {
        elsewhere: "Pegwise ist in einem anderen Tab oder Fenster offen.",
        moved: "Pegwise geht in einem anderen Tab oder Fenster weiter.",
        here: "Hier benutzen",
        newVersion: "Eine neue Version liegt bereit. Was du gerade tust, bleibt erhalten.",
        startNew: "Jetzt starten",
        later: "Später",
        mayVanish: "Dieser Browser kann löschen, was du hier aufbewahrst, wenn er Platz braucht. Bewahre eine Kopie woanders auf.",
        copy: "Kopie speichern",
        close: "Schließen",
        fell: "Pegwise ist stehen geblieben. Was du eingegeben hast, ist gespeichert.",
        again: "Neu starten",
        cannot: "Dieser Browser kann Pegwise nicht zeigen: Es braucht WebAssembly und WebGL.",
        unfetched: "Es ließ sich nicht laden. Sieh nach, ob ein Netz da ist, und starte dann neu.",
    },
    es: {
        elsewhere: "Pegwise está abierto en otra pestaña o ventana.",
        moved: "Pegwise sigue en otra pestaña o ventana.",
        here: "Usarlo aquí",
        newVersion: "Hay una versión nueva lista. Lo que estás haciendo se conserva.",
        startNew: "Iniciarla ahora",
        later: "Más tarde",
        mayVanish: "Este navegador puede borrar lo que guardas aquí cuando necesite espacio. Guarda una copia fuera.",
        copy: "Guardar una copia",
        close: "Cerrar",
        fell: "Pegwise se ha detenido. Lo que has escrito está guardado.",
        again: "Empezar de nuevo",
        cannot: "Este navegador no puede mostrar Pegwise: necesita WebAssembly y WebGL.",
        unfetched: "No se ha podido cargar. Mira si hay red y empieza de nuevo.",
    },
    fr: {
        elsewhere: "Pegwise est ouvert dans un autre onglet ou une autre fenêtre.",
        moved: "Pegwise continue dans un autre onglet ou une autre fenêtre.",
        here: "L’utiliser ici",
        newVersion: "Une nouvelle version est prête. Ce que vous faites est conservé.",
        startNew: "La lancer maintenant",
        later: "Plus tard",
        mayVanish: "Ce navigateur peut effacer ce que vous gardez ici s’il manque de place. Gardez une copie ailleurs.",
        copy: "Enregistrer une copie",
        close: "Fermer",
        fell: "Pegwise s’est arrêté. Ce que vous avez saisi est conservé.",
        again: "Relancer",
        cannot: "Ce navigateur ne peut pas afficher Pegwise : il lui faut WebAssembly et WebGL.",
        unfetched: "Le chargement a échoué. Vérifiez qu’il y a du réseau, puis relancez.",
    },
    pt: {
        elsewhere: "O Pegwise está aberto em outra aba ou janela.",
        moved: "O Pegwise continua em outra aba ou janela.",
        here: "Usar aqui",
        newVersion: "Há uma nova versão pronta. O que você está fazendo fica guardado.",
        startNew: "Iniciar agora",
        later: "Mais tarde",
        mayVanish: "Este navegador pode apagar o que você guarda aqui quando precisar de espaço. Guarde uma cópia fora dele.",
        copy: "Salvar uma cópia",
        close: "Fechar",
        fell: "O Pegwise parou. O que você digitou está guardado.",
        again: "Começar de novo",
        cannot: "Este navegador não consegue mostrar o Pegwise: ele precisa de WebAssembly e WebGL.",
        unfetched: "Não foi possível carregar. Veja se há rede e comece de novo.",
    },
};

const codeOf = (tag) => tag.slice(0, 2).toLowerCase();
/// The first of the languages that the player has set in the browser which the app speaks too, as a tag.
export const knownLanguage = () => (navigator.languages ?? []).find((tag) => codeOf(tag) in WORDS);

let tongue;

/// From now on the page speaks this language, as the app does.
export function speak(code) {
    tongue = code;
    document.documentElement.lang = code;
}
speak(codeOf(knownLanguage() ?? "en"));

export const word = (which) => WORDS[tongue][which];

/// Shows a message above the app: its words, and buttons as pairs of a word and what it does. One that is `whole` covers the
/// app. A message of the same name is shown once. Returns what takes it away.
export function show(which, buttons, { whole = false } = {}) {
    document.querySelector(`[data-bar="${which}"]`)?.remove();
    const bar = document.createElement("div");
    bar.className = "bar";
    const text = document.createElement("p");
    text.textContent = word(which);
    bar.append(text);
    let outer = bar;
    const glass = document.getElementById("glass");
    // Nothing below it is touched, typed in or read.
    if (whole) {
        outer = document.createElement("div");
        outer.className = "whole";
        outer.setAttribute("role", "alertdialog");
        outer.setAttribute("aria-modal", "true");
        outer.setAttribute("aria-label", word(which));
        outer.append(bar);
    }
    outer.dataset.bar = which;
    const close = () => {
        outer.remove();
        glass.inert = document.querySelector(".whole") !== null;
        document.getElementById("canvas").focus();
    };
    for (const [name, does] of buttons) {
        const button = document.createElement("button");
        button.textContent = word(name);
        button.addEventListener("click", () => {
            close();
            does();
        });
        bar.append(button);
    }
    (whole ? document.body : document.getElementById("bars")).append(outer);
    if (whole) {
        glass.inert = true;
        bar.querySelector("button").focus();
    }
    return close;
}

/// F6 goes from the app to the page's own messages and back, as between the parts of a window; Escape goes back.
addEventListener(
    "keydown",
    (event) => {
        const bars = document.getElementById("bars");
        const isInside = bars.contains(document.activeElement);
        const first = bars.querySelector("button");
        if (event.key === "F6" && first && !isInside) first.focus();
        else if (isInside && ["F6", "Escape"].includes(event.key)) document.getElementById("canvas").focus();
        else return;
        event.preventDefault();
        event.stopPropagation();
    },
    { capture: true },
);
