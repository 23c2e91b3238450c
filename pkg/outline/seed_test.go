package outline

import _ "sparclear/internal/seeds" // the same inputs on every run
