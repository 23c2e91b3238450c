package locate_test

import _ "sparclear/internal/seeds" // the same inputs on every run
