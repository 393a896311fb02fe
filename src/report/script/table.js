// A table that sorts, filters, turns its pages and goes to a spreadsheet.

const ROWS_A_PAGE = 100;
const ALPHABET = new Intl.Collator("en");

/**
 * Columns have a `heading`, the `value` that a row is sorted, filtered and exported by, and may
 * have a `cell` that shows it.
 */
class SortedTable {
  constructor({ table, columns, rows, filter, count, pages, csv, fileName }) {
    Object.assign(this, { table, columns, rows, filter, count, pages, fileName });
    this.sortedBy = { column: 0, falling: false };
    this.page = 0;
    this.heads = columns.map((column, place) => {
      const button = element("button", { type: "button", onclick: () => this.sort(place) }, column.heading);
      return element("th", { scope: "col" }, button, element("span", { class: "paper-only" }, column.heading));
    });
    this.body = element("tbody");
    table.append(element("thead", {}, element("tr", {}, this.heads)), this.body);
    filter.addEventListener("input", () => {
      this.page = 0;
      this.show();
    });
    csv.addEventListener("click", () => {
      const values = this.shown().map((row) => this.columns.map((column) => column.value(row)));
      saveCsv(this.fileName, this.columns.map((column) => column.heading), values);
    });
    this.show();
  }

  sort(column) {
    const again = this.sortedBy.column === column;
    this.sortedBy = { column, falling: again ? !this.sortedBy.falling : false };
    this.page = 0;
    this.show();
  }

  /** The rows that pass the filter, in order. */
  shown() {
    const words = this.filter.value.toLowerCase().split(/\s+/).filter((word) => word !== "");
    const rows = this.rows.filter((row) => {
      if (words.length === 0) return true;
      const text = this.columns.map((column) => column.words?.(row) ?? column.value(row)).join(" ").toLowerCase();
      return words.every((word) => text.includes(word));
    });
    const { value } = this.columns[this.sortedBy.column];
    const turn = this.sortedBy.falling ? -1 : 1;
    // Values are made once a row: to make one may take longer than to compare.
    const valued = rows.map((row) => ({ row, value: value(row) }));
    valued.sort(({ row: a, value: one }, { row: b, value: other }) => {
      const both = typeof one === "number" && typeof other === "number";
      return turn * (both ? one - other : ALPHABET.compare(String(one), String(other))) || a - b;
    });
    return valued.map(({ row }) => row);
  }

  show() {
    const rows = this.shown();
    const last = Math.max(0, Math.ceil(rows.length / ROWS_A_PAGE) - 1);
    this.page = Math.min(this.page, last);
    const first = this.page * ROWS_A_PAGE;
    const here = rows.slice(first, first + ROWS_A_PAGE);
    this.heads.forEach((head, place) => {
      const isSorted = place === this.sortedBy.column;
      if (isSorted) head.setAttribute("aria-sort", this.sortedBy.falling ? "descending" : "ascending");
      else head.removeAttribute("aria-sort");
    });
    this.body.replaceChildren(...this.bodyRows(here));
    this.count.textContent = rows.length === this.rows.length
      ? counted(rows.length, "row") : `${rows.length} of ${counted(this.rows.length, "row")}`;
    const turn = (words, page, place) => element("button", {
      type: "button",
      disabled: page < 0 || page > last,
      onclick: () => {
        this.page = page;
        this.show();
        // These buttons are made anew too: the keys stay with the one that was pressed, or with the other at an end.
        const buttons = this.pages.querySelectorAll("button");
        buttons[buttons[place].disabled ? 1 - place : place].focus();
      },
    }, words);
    this.pages.hidden = last === 0;
    this.pages.replaceChildren(turn("Earlier rows", this.page - 1, 0),
      ` rows ${first + 1} to ${first + here.length} `, turn("Later rows", this.page + 1, 1));
  }

  bodyRows(rows) {
    const cell = (column, row) => (column.cell ? column.cell(row) : String(column.value(row)));
    return rows.map((row) => element("tr", {}, this.columns.map((column, place) => {
      const shown = cell(column, row);
      return place === 0 ? element("th", { scope: "row" }, shown) : element("td", { class: isLong(shown) && "wide" }, shown);
    })));
  }
}
