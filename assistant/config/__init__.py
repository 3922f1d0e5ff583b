"""Files and folders a person may change: joint files, settings, paths."""
