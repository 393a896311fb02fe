// Makes the pages that the tests open, those that are not there yet:  node make_pages.js FOLDER
//
// Each page lies in a folder of its own with the zones of the same run beside it. GROUNDFIT_BIN is the program.
"use strict";

const { execFileSync } = require("node:child_process");
const fs = require("node:fs");
const path = require("node:path");
const { writeSite } = require("./invented_site");
const { writeMarkedUp } = require("./marked_up");

const SAMPLE = path.resolve(__dirname, "../../sample-data");
const KEPT = ["report.html", "zones.geojson"];

function mapProject(project, output) {
  if (fs.existsSync(path.join(output, KEPT[0]))) return;
  execFileSync(process.env.GROUNDFIT_BIN, ["map", project, "--output", output, "--quiet"], {
    stdio: ["ignore", "ignore", "inherit"],
  });
  for (const file of fs.readdirSync(output)) {
    // The other files of a large site would fill the disk.
    if (!KEPT.includes(file)) fs.rmSync(path.join(output, file));
  }
}

function main(folder) {
  const sources = path.join(folder, "sources");
  const catalogue = path.join(SAMPLE, "catalogue");
  const projects = {
    sample: path.join(SAMPLE, "project.toml"),
    ground: path.join(SAMPLE, "ground.toml"),
    "soil-survey": path.join(SAMPLE, "soil-survey.toml"),
    documented: path.join(SAMPLE, "documented.toml"),
    "marked-up": writeMarkedUp(path.join(sources, "marked-up"), SAMPLE),
    "zones-2000": writeSite(path.join(sources, "zones-2000"), 2_000, catalogue),
    "zones-20000": writeSite(path.join(sources, "zones-20000"), 20_000, catalogue),
  };
  for (const [name, project] of Object.entries(projects)) mapProject(project, path.join(folder, name));
}

main(process.argv[2]);
