// The engine: Python in WebAssembly, started from the files beside this one.
import { loadPyodide } from "./pyodide.mjs";

const base = new URL(".", self.location).href;
const bytes = async (file) => new Uint8Array(await (await fetch(base + file)).arrayBuffer());

const env = { WHYWIRE_CACHE: "off", HOME: "/home/pyodide" };
let start = "snapshot";
const START = "import sys; sys.path.insert(0, '/code')\nfrom whywire.cli.page.alone import answer; answer";

// What was in memory when the first card was shown (make.mjs). The names are private to Pyodide; it takes a heap
// as large as the snapshot.
async function woken() {
  const kept = await caches.match(base + "snapshot.bin"); // never waited for over a network
  if (!kept) throw new Error("there is no snapshot");
  const { default: made } = await import("./pyodide.asm.mjs");
  const snapshot = new Uint8Array(await kept.arrayBuffer());
  return loadPyodide({
    indexURL: base,
    env: { ...env, PYTHONHASHSEED: "0" },
    _loadSnapshot: snapshot,
    createPyodideModule: async (options) => {
      const module = await made(options);
      while (module.HEAP8.length < snapshot.length) module._malloc(4 << 20);
      return module;
    },
  });
}

const inside = (async () => {
  const files = Promise.all([bytes("code.zip"), bytes("laws.zip")]);
  const python = await woken().catch(() => {
    start = "plain";
    return loadPyodide({ indexURL: base, env });
  });
  const [code, laws] = await files;
  python.unpackArchive(code, "zip", { extractDir: "/code" });
  python.unpackArchive(laws, "zip", { extractDir: "/laws" });
  return python.runPython(START);
})();

onmessage = async ({ data }) => {
  try {
    const said = JSON.parse((await inside)(JSON.stringify(data)));
    postMessage({ ...said, start });
  } catch (error) {
    postMessage({ error: `This is a defect of whywire: ${String(error).trim().split("\n").pop()}` });
  }
};
