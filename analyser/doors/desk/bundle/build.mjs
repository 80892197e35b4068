// Writes the editor's bundle and the licences of what is in it. The same lock file gives the same bytes.
import { buildSync } from "esbuild";
import { readFileSync, readdirSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const here = dirname(fileURLToPath(import.meta.url));
const out = process.argv[2] ?? join(here, "..", "served");
const built = buildSync({
  absWorkingDir: here,
  entryPoints: ["codemirror.mjs"],
  bundle: true,
  format: "esm",
  target: "es2022",
  minify: true,
  legalComments: "none",
  charset: "ascii",
  metafile: true,
  outfile: join(out, "codemirror.js"),
});
const packages = new Set();
for (const input of Object.keys(built.metafile.inputs)) {
  const found = input.match(/node_modules\/((?:@[^/]+\/)?[^/]+)\//);
  if (found) packages.add(found[1]);
}
const texts = [...packages].sort().map((name) => {
  const folder = join(here, "node_modules", name);
  const { version, license } = JSON.parse(readFileSync(join(folder, "package.json"), "utf8"));
  const file = readdirSync(folder).find((one) => /^licen[cs]e/i.test(one));
  const words = file ? readFileSync(join(folder, file), "utf8").trim() : `(${license})`;
  return `${name} ${version} (${license})\n\n${words.replaceAll("\r\n", "\n")}\n`;
});
const line = `\n${"-".repeat(72)}\n\n`;
writeFileSync(join(out, "codemirror.LICENSES.txt"),
  `codemirror.js holds these packages of the npm registry, as their package-lock.json has them:\n${line}${texts.join(line)}`);
