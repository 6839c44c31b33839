SwaggerUIBundle({
  url: "openapi.json",
  dom_id: "#reference",
  deepLinking: true,
  // Otherwise the page asks a public service to check the document.
  validatorUrl: null,
  defaultModelsExpandDepth: 0,
});
