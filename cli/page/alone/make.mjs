// node make.mjs PYODIDE WORK SITE: what the page needs of Python, made by the very Python that runs in
// the page: bytecode of our code, the knowledge with its emitted code, the used part of the library.
import fs from "node:fs";
import path from "node:path";
import { pathToFileURL } from "node:url";

// an uncaught error in Pyodide prints a line of a megabyte
process.on("uncaughtException", (error) => {
  console.error(String(error.message).slice(-2000));
  process.exit(1);
});

const [pyodide, work, site] = process.argv.slice(2).map((name) => path.resolve(name));
const { loadPyodide } = await import(pathToFileURL(path.join(pyodide, "pyodide.mjs")).href);
const bytes = (file) => new Uint8Array(fs.readFileSync(file)); // a Buffer is refused

const python = await loadPyodide({ env: { WHYWIRE_CACHE: "off", HOME: "/home/pyodide" } });
python.unpackArchive(bytes(path.join(work, "source.zip")), "zip", { extractDir: "/source" });
python.unpackArchive(bytes(path.join(work, "laws.zip")), "zip", { extractDir: "/laws" });
python.runPython(fs.readFileSync(path.join(import.meta.dirname, "make.py"), "utf8"));
for (const file of ["code.zip", "laws.zip", "python_stdlib.zip"])
  fs.writeFileSync(path.join(site, file), python.FS.readFile("/made/" + file));

// A Python that has read the laws and shown the first card, as it stands in memory: it wakes in a fraction of a
// start. Made by private names of Pyodide, so nothing rests on it: worker.js starts plainly where it does not wake.
const awake = await loadPyodide({
  _makeSnapshot: true,
  env: { WHYWIRE_CACHE: "off", HOME: "/home/pyodide", PYTHONHASHSEED: "0" },
});
for (const name of ["code", "laws"])
  awake.unpackArchive(bytes(path.join(site, name + ".zip")), "zip", { extractDir: "/" + name });
awake.runPython("import sys; sys.path.insert(0, '/code')\nfrom whywire.cli.page.alone import wake; wake()");
fs.writeFileSync(path.join(site, "snapshot.bin"), awake.makeMemorySnapshot());
for (const file of ["pyodide.mjs", "pyodide.asm.mjs", "pyodide.asm.wasm"])
  fs.copyFileSync(path.join(pyodide, file), path.join(site, file));
const lock = JSON.parse(fs.readFileSync(path.join(pyodide, "pyodide-lock.json")));
lock.packages = {}; // none is loaded
fs.writeFileSync(path.join(site, "pyodide-lock.json"), JSON.stringify(lock));
