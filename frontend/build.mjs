// Bundles every entry of entries.txt into the folder named on the command line, with the licences of what is inside.
import { build } from "esbuild";
import { existsSync, mkdirSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { dirname, join, sep } from "node:path";

const out = process.argv[2];
const lines = readFileSync("entries.txt", "utf8").split("\n").map((line) => line.trim());
const entries = lines.filter((line) => line && !line.startsWith("#"));

const result = await build({
  entryPoints: entries.map((name) => `src/${name}.ts`),
  outdir: out,
  bundle: true,
  splitting: true,
  chunkNames: "shared-[hash]",
  format: "esm",
  target: "es2022",
  minify: true,
  legalComments: "none",
  metafile: true,
  logLevel: "warning",
});

/** Folder of the npm package that a file belongs to, or an empty text for a file of our own. */
function findPackage(path) {
  const parts = path.split(/[\\/]/);
  const at = parts.lastIndexOf("node_modules");
  if (at < 0) return "";
  const length = parts[at + 1].startsWith("@") ? 3 : 2;
  return parts.slice(0, at + length).join(sep);
}

function readLicence(folder) {
  const { name, version, license } = JSON.parse(readFileSync(join(folder, "package.json"), "utf8"));
  const file = readdirSync(folder).find((item) => /^licen[cs]e/i.test(item));
  if (!file) throw new Error(`${name} brings no licence text`);
  return `${name} ${version} (${license})\n\n${readFileSync(join(folder, file), "utf8").trim()}\n`;
}

const packages = [...new Set(Object.keys(result.metafile.inputs).map(findPackage))].filter(Boolean).sort();
mkdirSync(out, { recursive: true });
writeFileSync(join(out, "licences.txt"), packages.map(readLicence).join(`\n${"-".repeat(72)}\n\n`));
for (const name of entries) {
  if (!existsSync(join(out, `${name}.js`))) throw new Error(`${name} was not made in ${dirname(out)}`);
}
