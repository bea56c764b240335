import { defineConfig } from "vite";
import { viteSingleFile } from "vite-plugin-singlefile";

// One file: the preview must open from disk, where a browser loads no other.
export default defineConfig({
    plugins: [viteSingleFile()],
    build: { outDir: "../src/lampwright/page/built", emptyOutDir: true, target: "es2022", modulePreload: false },
});
