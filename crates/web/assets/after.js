// After the oven, live.
