"""Made clips of every case that the pages know, for people who work on the pages."""
