/** All sheets in one file, each a template: this shows the one that the address asks for. */
/** @typedef {{ groveplatFiles: Record<string, () => void>, groveplatStart: () => void }} OneFile */

const sheets = /** @type {NodeListOf<HTMLTemplateElement>} */ (
  document.querySelectorAll("template[data-file]")
);
const files = [...sheets].map((sheet) => sheet.dataset.file);
const wanted = files.indexOf(decodeURIComponent(location.search.slice(1)));
const sheet = sheets[Math.max(wanted, 0)];

document.title = sheet.dataset.title ?? "";
document.body.className = sheet.dataset.style ?? "";
document.body.prepend(sheet.content.cloneNode(true));

/** The files of the site are functions here, run when the sheet asks for them. */
const one = /** @type {OneFile} */ ({
  groveplatFiles: {},
  groveplatStart: () => {
    for (const name of (sheet.dataset.scripts ?? "").split(" ")) one.groveplatFiles[name]?.();
  },
});
Object.assign(window, one);

document.addEventListener("click", (event) => {
  const link = event.target instanceof Element ? event.target.closest("a[href]") : null;
  if (!link || link.hasAttribute("download")) return;
  const [file, ...rest] = (link.getAttribute("href") ?? "").split("#");
  if (file.startsWith("data:")) event.preventDefault(); // browsers open no picture in a page's place
  if (!files.includes(file)) return;
  event.preventDefault();
  location.href = [`?${file}`, ...rest].join("#");
});
