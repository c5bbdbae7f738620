// The engine: Python in WebAssembly, started from the files beside this one.
import { loadPyodide } from "./pyodide.mjs";

const base = new URL(".", self.location).href;
const bytes = async (file) => new Uint8Array(await (await fetch(base + file)).arrayBuffer());

const inside = (async () => {
  const files = Promise.all([bytes("code.zip"), bytes("laws.zip")]);
  const python = await loadPyodide({ indexURL: base, env: { WHYWIRE_CACHE: "off", HOME: "/home/pyodide" } });
  const [code, laws] = await files;
  python.unpackArchive(code, "zip", { extractDir: "/code" });
  python.unpackArchive(laws, "zip", { extractDir: "/laws" });
  return python.runPython(
    "import sys; sys.path.insert(0, '/code')\nfrom whywire.cli.page.alone import answer; answer",
  );
})();

onmessage = async ({ data }) => {
  try {
    postMessage(JSON.parse((await inside)(JSON.stringify(data))));
  } catch (error) {
    postMessage({ error: `This is a defect of whywire: ${String(error).trim().split("\n").pop()}` });
  }
};
