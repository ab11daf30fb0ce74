// The page's one script. The server draws; this only points, pans and picks.

import "htmx.org";
