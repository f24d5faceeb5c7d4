// The page, quicker: forms answer in place, charts react. Without this file everything still works.
import { startForms } from "./forms.js";
import { startWatching } from "./watch.js";
import { startCharts } from "./charts.js";
import { startWords } from "./words.js";
import { startPlaces } from "./places.js";
import { startChapters } from "./chapters.js";
import { startWhys } from "./whys.js";
import { startTelling } from "./tell.js";

startForms();
startWatching();
startCharts();
startWords();
startPlaces();
startChapters();
startWhys();
startTelling();
