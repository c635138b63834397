"""Offline voice and chat assistant for people who handle goats and sheep one at a time."""

import os

# From 1.29 on onnxruntime tells its maker about each process (an identifier in the home folder, the processor, the
# models that are loaded). It asks this variable once, when it is loaded, so it stands before everything else.
os.environ["ORT_DISABLE_TELEMETRY"] = "1"
