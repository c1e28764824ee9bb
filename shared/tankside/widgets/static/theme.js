// Light or dark: what the notebook says, else what the page looks like, else what the system prefers.

export function followTheme(root, host) {
  const system = window.matchMedia("(prefers-color-scheme: dark)");
  const apply = () => {
    root.dataset.theme = isDark(host, system) ? "dark" : "light";
  };
  const observer = new MutationObserver(apply);
  const watched = { attributes: true, attributeFilter: ["data-jp-theme-light", "data-jp-theme-name", "class", "data-theme"] };
  observer.observe(document.body, watched);
  observer.observe(document.documentElement, watched);
  system.addEventListener("change", apply);
  apply();
  return () => {
    observer.disconnect();
    system.removeEventListener("change", apply);
  };
}

function isDark(host, system) {
  const said = document.body.dataset.jpThemeLight;
  if (said !== undefined) return said === "false";
  for (let node = host; node; node = node.parentElement) {
    const paint = getComputedStyle(node).backgroundColor.match(/[\d.]+/g);
    if (paint && (paint.length < 4 || Number(paint[3]) > 0.5)) {
      return 0.2126 * paint[0] + 0.7152 * paint[1] + 0.0722 * paint[2] < 110;
    }
  }
  return system.matches;
}
