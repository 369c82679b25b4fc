"""A photo simulator that shares no code with the estimator: own camera, own distortion, own drawings."""
