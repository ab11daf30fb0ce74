// Bundle the page into the package: node build.mjs
//
// The page gets one script, one style sheet and its fonts; the paper room gets the
// same two families as TrueType files, which is what its typesetter reads.

import { createHash } from "node:crypto";
import { copyFile, mkdir, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { fileURLToPath } from "node:url";
import * as esbuild from "esbuild";

const here = fileURLToPath(new URL(".", import.meta.url));
const page = `${here}../src/pennyweight/web/static`;
const paperFonts = `${here}../src/pennyweight/paper/fonts`;

const families = { "source-sans": "SourceSans3", "source-serif": "SourceSerif4" };
const faces = ["Regular", "It", "Semibold", "Bold"];

/** Copy the faces that are set on paper, each family with its license. */
async function copyPaperFonts() {
  await mkdir(paperFonts, { recursive: true });
  for (const [folder, family] of Object.entries(families)) {
    const from = `${here}node_modules/${folder}`;
    for (const face of faces) {
      const file = `${family}-${face}.ttf`;
      await copyFile(`${from}/TTF/${file}`, `${paperFonts}/${file}`);
    }
    await copyFile(`${from}/LICENSE.md`, `${paperFonts}/${family}-LICENSE.md`);
  }
}

/** Write the licenses of every package that went into the bundle beside it. */
async function writeLicenses(inputs) {
  const packages = new Set(
    Object.keys(inputs).flatMap((file) => {
      return file.match(/^node_modules\/((?:@[^/]+\/)?[^/]+)/)?.[1] ?? [];
    }),
  );
  const texts = [];
  for (const name of [...packages].sort()) {
    const folder = `${here}node_modules/${name}`;
    const license = (await readdir(folder)).find((file) => /^licen[sc]e/i.test(file));
    if (!license) throw new Error(`package ${name} carries no license file`);
    texts.push(`${name}\n\n${await readFile(`${folder}/${license}`, "utf8")}`);
  }
  await writeFile(`${page}/licenses.txt`, texts.join("\n\n"));
}

/** Write the pocket form: one file, whose script and style it allows by their hashes. */
async function buildPocketForm() {
  const { absWorkingDir, minify, charset, format, target, logLevel } = bundle;
  const { outputFiles } = await esbuild.build({
    ...{ absWorkingDir, minify, charset, format, target, logLevel },
    entryPoints: ["src/pocket/main.ts"],
    outfile: "pocket.js",
    bundle: true,
    legalComments: "none",
    write: false,
  });
  const textOf = (ending) => outputFiles.find(({ path }) => path.endsWith(ending)).text;
  const hash = (text) => `sha256-${createHash("sha256").update(text).digest("base64")}`;
  const script = textOf(".js").replaceAll("</script", "<\\/script");
  const style = textOf(".css");
  const parts = { script, style, "script-hash": hash(script), "style-hash": hash(style) };
  const form = await readFile(`${here}pocket.html`, "utf8");
  const filled = form.replace(/{{([\w-]+)}}/g, (mark, name) => parts[name] ?? mark);
  await writeFile(`${page}/pocket.html`, filled);
}

/** What esbuild needs to know about the page. */
const bundle = {
  absWorkingDir: here,
  entryPoints: { main: "src/main.ts", style: "styles/main.css" },
  entryNames: "main",
  assetNames: "fonts/[name]",
  outdir: page,
  bundle: true,
  minify: true,
  charset: "utf8",
  format: "iife",
  target: ["es2022", "chrome110", "firefox115", "safari16"],
  loader: { ".woff2": "file" },
  legalComments: "none",
  metafile: true,
  logLevel: "warning",
};

await rm(page, { recursive: true, force: true });
await rm(paperFonts, { recursive: true, force: true });
const built = await esbuild.build(bundle);
await buildPocketForm();
await copyPaperFonts();
await copyFile(`${here}styles/icon.svg`, `${page}/icon.svg`);
await writeLicenses(built.metafile.inputs);
