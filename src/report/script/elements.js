// Elements of the page. Everything that comes from data goes in as text.

/** An element with properties and children; texts become text nodes. */
function element(name, properties = {}, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(properties)) {
    if (value === null || value === undefined || value === false) continue;
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (key === "class") made.className = value;
    else made.setAttribute(key, value === true ? "" : value);
  }
  made.append(...children.flat().filter((child) => child !== null && child !== ""));
  return made;
}

function byId(id) {
  return document.getElementById(id);
}

const SVG = "http://www.w3.org/2000/svg";

/** A part of a drawing. */
function drawn(name, properties = {}, ...children) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(properties)) made.setAttribute(key, value);
  made.append(...children);
  return made;
}

/** Whether a text needs a wide column. */
function isLong(cell) {
  return typeof cell === "string" && cell.length > 60;
}

/** A plain table: headings, then rows of texts or elements. */
function plainTable(caption, headings, rows) {
  const head = headings.map((heading) => element("th", { scope: "col" }, heading));
  const body = rows.map((row) => {
    const cells = row.map((cell, at) =>
      at === 0 ? element("th", { scope: "row" }, cell) : element("td", { class: isLong(cell) && "wide" }, cell));
    return element("tr", {}, cells);
  });
  return element("div", { class: "scrolls", tabindex: "0", role: "region", "aria-label": caption },
    element("table", {},
      element("caption", {}, caption),
      element("thead", {}, element("tr", {}, head)),
      element("tbody", {}, body)));
}

/** One field of a CSV file (RFC 4180), kept from being read as a formula. */
function csvField(value) {
  let text = String(value);
  if (/^[=+@\t\r]/.test(text) || (/^-/.test(text) && Number.isNaN(Number(text)))) text = `'${text}`;
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

/** Hands the reader a table as a CSV file. */
function saveCsv(name, headings, rows) {
  const lines = [headings, ...rows].map((row) => row.map(csvField).join(","));
  const file = new Blob([`\ufeff${lines.join("\r\n")}\r\n`], { type: "text/csv" });
  const link = element("a", { href: URL.createObjectURL(file), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}
