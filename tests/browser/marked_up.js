// Writes a copy of the sample site whose names hold markup and very long words, as a person could have typed it.
"use strict";

const fs = require("node:fs");
const path = require("node:path");

const TITLE = `<b>Bend</b> & "co" </script><script>alert(1)</script> <!-- <script> ${"Verylongword".repeat(12)}`;
const SPECIES = "<script>alert(1)</script>";
const OTHER_SPECIES = `"><img src=x onerror=alert(1)>`;

/** Copies the sample and puts markup and very long words into its title and names of species; gives the project file. */
function writeMarkedUp(folder, sample) {
  fs.cpSync(sample, folder, { recursive: true, filter: (file) => !/^out/.test(path.relative(sample, file)) });
  const project = path.join(folder, "project.toml");
  replace(project, /^title = .*$/m, `title = '${TITLE}'`);
  const species = path.join(folder, "catalogue", "species.csv");
  replace(species, ",red maple,", `,${SPECIES},`);
  replace(species, ",bur oak,", `,${"a long name ".repeat(8)}${"Verylongword".repeat(8)},`);
  replace(species, ",sugar maple,", `,"${OTHER_SPECIES.replaceAll('"', '""')}",`);
  return project;
}

function replace(file, found, text) {
  const before = fs.readFileSync(file, "utf8");
  const after = before.replace(found, () => text);
  if (after === before) throw new Error(`${file} has no ${found}`);
  fs.writeFileSync(file, after);
}

module.exports = { OTHER_SPECIES, SPECIES, TITLE, writeMarkedUp };
