// node in_page.mjs SITE CODE [FILE]: what CODE comes to in the Python of the page; GIVEN is the text of a file.
import fs from "node:fs";
import path from "node:path";
import { pathToFileURL } from "node:url";

process.on("uncaughtException", (error) => {
  console.error(String(error.message).slice(-2000));
  process.exit(1);
});

const [site, code, given] = process.argv.slice(2);
const { loadPyodide } = await import(pathToFileURL(path.join(site, "pyodide.mjs")).href);
const python = await loadPyodide({
  indexURL: path.resolve(site) + "/",
  env: { WHYWIRE_CACHE: "off", HOME: "/home/pyodide" },
});
for (const name of ["code", "laws"])
  python.unpackArchive(new Uint8Array(fs.readFileSync(path.join(site, name + ".zip"))), "zip", { extractDir: "/" + name });
python.runPython("import sys; sys.path.insert(0, '/code')");
if (given) python.globals.set("GIVEN", fs.readFileSync(given, "utf8"));
const answer = python.runPython(code);
process.stdout.write(typeof answer === "string" ? answer : JSON.stringify(answer.toJs()));
