"""Body landmarks from two published networks (a person detector and a landmark model), run by onnxruntime."""
