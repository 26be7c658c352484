"""What is drawn on pictures: stills, overlay and the annotated clip."""
