"""The week's page in a real browser: run where Chromium and the `browser` extra are at hand, as in `.ci/run`."""
