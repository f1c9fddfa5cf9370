"""What the API takes and gives, as marshmallow schemas, from which its OpenAPI document is made.

They describe and are held to what is served by tests. Values are checked in one place
for service, command line and sheets alike: `catalog.rows` for things on the shelf,
`api.bodies` for questions; so each problem is told in the same words everywhere.
"""
