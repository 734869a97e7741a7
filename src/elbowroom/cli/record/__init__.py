"""The commands of the clinic's record, one file each."""
