"""The crediting room."""
