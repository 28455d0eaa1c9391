package web

// The page is made of TypeScript by esbuild, a tool of tools/go.mod; its packages
// come by npm ci in app. The words for metals, rooms and finishes come from package light.

//go:generate sh -c "go run ./app/words > app/src/words.json"
//go:generate go tool -modfile=../tools/go.mod esbuild app/src/main.tsx --bundle --minify --target=es2022 --jsx=automatic --jsx-import-source=preact --legal-comments=none --log-level=warning --outfile=app/dist/app.js
//go:generate go tool -modfile=../tools/go.mod esbuild app/src/sw.ts --bundle --minify --target=es2022 --legal-comments=none --log-level=warning --outfile=app/dist/sw.js
//go:generate cp app/src/index.html app/dist/index.html
