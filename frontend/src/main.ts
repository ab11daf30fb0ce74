// The page's one script. The server draws; this only points, pans, picks and types.

import "htmx.org";

import { attachDrawing } from "./drawing.js";
import { attachCounting } from "./counting.js";
import { attachFloods } from "./flood.js";
import { attachMaps } from "./map.js";
import { attachPrinting, attachReader, attachSending, attachWords, showQuestion } from "./page.js";
import { attachSheets } from "./sheet.js";
import { attachDropping, attachTaking } from "./taking.js";

attachReader(document, window);
showQuestion(document);
attachSending(document);
attachPrinting(document, window);
attachWords(document);
attachMaps(document);
attachDrawing(document);
attachSheets(document);
attachCounting(document);
attachFloods(document, window);
attachTaking(document);
attachDropping(document);

document.addEventListener("htmx:afterSwap", (event) => {
  if (event.target instanceof Element) attachMaps(event.target);
});
