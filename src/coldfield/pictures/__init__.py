"""Plans, maps and charts as SVG and PNG."""
