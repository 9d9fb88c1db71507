"""The program's commands, one module each; what they do is done in the other rooms."""
