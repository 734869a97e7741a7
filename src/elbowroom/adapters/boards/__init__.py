"""The printed board and the sizes of the field: printing, detecting, and finding cameras from them."""
